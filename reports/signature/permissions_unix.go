//go:build unix

package signature

// permissions of files say who may read them.
const permissions = true
