//go:build !linux

package main

// unmapCode needs a system that tells where the code is.
func unmapCode() {}

// askForLargePages needs a system that can be asked.
func askForLargePages() {}
