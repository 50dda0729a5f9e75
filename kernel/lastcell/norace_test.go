//go:build !race

package lastcell

const raceDetector = false
