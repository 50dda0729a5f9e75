// Package index makes the index of a folder of reports: one page that lists them all, and tables for other programs.
//
// The index is worked out from the records beside the reports, or from those that the PDFs carry (scan.go): it holds
// nothing of its own, and can be deleted at any time. Each unit of each report is a Row (row.go). A Series (series.go)
// is one limit or one fitted parameter over all units, with control chart, capability and steps of its mean. What only
// the run of a plan knows (a report that could not be made, an input that is gone) comes as Standing. Write (write.go)
// puts index.html, index.csv and index-values.csv into the folder, whole, and only where those that are there are its
// own.
//
// Records and PDFs come from anywhere. Whatever they say is text: the page escapes it and runs no script but its own,
// and its only links are the paths at which the reports were found.
package index
