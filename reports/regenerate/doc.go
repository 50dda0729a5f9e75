// Package regenerate makes many reports from a plan, and makes anew only those
// whose inputs have changed.
//
// A plan (plan.go) names notebooks, the files their inputs are bound to, settings
// and where each report goes. A pattern (pattern.go) with named groups stands for
// many files; expanding the plan (expand.go) gives one Job a report. Run (run.go)
// hands the jobs to workers: processes of their own that share nothing (worker.go),
// so that a notebook which eats its memory or never ends fails its own report and
// no other, and what stood in its place before stays.
//
// A report is fresh when the hash of everything it was made from is the one in the ledger of its folder (ledger.go),
// and its files are the ones that were written then. What it was made from is the notebook, the bound files, the files
// that the notebook read by itself, the settings, the fonts, the roots, the constants and the program. Contents are
// what counts; while size, times and inode of the files are those that they had when their contents were read
// (seen.go), and were then at rest, the contents are not read again.
//
// The package knows no notebooks and no PDF: a Maker makes one report. It does not
// watch folders; a timer of the system starts it.
package regenerate
