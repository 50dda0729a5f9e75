//go:build !unix

package signature

// permissions of files do not say who may read them on this system.
const permissions = false
