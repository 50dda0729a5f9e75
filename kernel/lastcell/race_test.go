//go:build race

package lastcell

const raceDetector = true
