package gauge

import "math"

// Amplitude is the leakage amplitude of an isolation or a return loss in dB: 10^(-A/20).
func Amplitude(level float64) float64 { return math.Pow(10, -level/20) }

// Level is the isolation in dB of a leakage amplitude.
func Level(amplitude float64) float64 { return -20 * math.Log10(amplitude) }

// PerLevel is how many dB a small deviation of the leakage amplitude is at a level: deviation times 20/(ln 10 a).
func PerLevel(deviation, level float64) float64 {
	return 20 / math.Ln10 * deviation / Amplitude(level)
}
