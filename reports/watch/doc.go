// Package watch says when a plan has something to do, and tells others what came of it.
//
// Run (watch.go) looks at the files that a plan is about: it is woken by the system when one changes, and looks by
// itself from time to time, for shares on a network tell nobody. A file that is still being written is waited for
// (settle.go). NewFailures and Tell (notify.go) hand failures that were not there before to a command; Metrics
// (metrics.go) is what a monitoring system reads. The package knows no plans and makes no reports.
package watch
