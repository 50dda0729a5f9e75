// Command wedgework designs fibre-optic isolators in notebooks, verifies measured ones against their model,
// and writes the report.
//
// Manners of the command line: results go to standard output, everything said about the work to standard
// error, in lines that begin with "wedgework: ", in lower case, without a full stop, naming what, where and
// what was expected. The exit status is 0 when all is well, 1 when a report is written and some verdict in
// it is not a pass, and 2 when nothing was done: bad usage, bad data, a failing cell.
//
// This package parses, reads and writes; what is between is kernel and reports.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(status)
}
