//go:build !unix

package files

const nonBlocking = 0
