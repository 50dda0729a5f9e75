package compare

import (
	"wedgework/optics/quantity"
	"wedgework/reports/limits"
)

// Point is one backward reading compared with the model.
type Point struct {
	Line        int
	Run         int // index into Result.Runs
	Wavelength  quantity.Length
	Temperature quantity.Temperature
	Read        float64 // isolation as read, dB
	Bound       bool    // the file says "at least" Read, as in >62
	Isolation   float64 // net of the floor, dB; for an "at least" reading, the minimum isolation it proves at 95 %
	Low, High   float64 // of Isolation, expanded, dB; equal to it where Censored
	Amplitude   float64 // net leakage amplitude; 0 if the floor exceeds the reading
	Standard    float64 // of Amplitude
	U           float64 // of Amplitude
	Censored    bool    // an "at least" reading: Bound, or net power under twice its standard uncertainty
	Outlier     bool    // left out of the fit
	Specified   Comparison
	// with the errors that readings share put on the curve; same as Specified when nothing was fitted
	Diagnosed Comparison
}

// Comparison is a reading against one model.
type Comparison struct {
	Amplitude  float64 // model
	Isolation  float64 // model, dB
	ULow       float64 // expanded uncertainty of the model's amplitude, downwards
	UHigh      float64 // and upwards
	Residual   float64 // measured minus model amplitude
	ResidualDB float64 // measured minus model isolation, dB; 0 where Censored
	// residual over the root sum of squares of both expanded uncertainties (ISO 13528); 0 where Censored
	En float64
}

// LossPoint is one forward reading compared with the model, in dB.
type LossPoint struct {
	Line        int
	Run         int
	Wavelength  quantity.Length
	Temperature quantity.Temperature
	Read        float64
	Standard    float64
	U           float64
	Model       float64
	UModel      float64
	Residual    float64
	En          float64
}

// Curve is the model over wavelength at the temperature of one run, in dB.
type Curve struct {
	Quantity    limits.Quantity // limits.Isolation or limits.InsertionLoss
	Run         int
	Temperature quantity.Temperature
	Wavelengths []quantity.Length
	Specified   Band
	Diagnosed   Band // Value nil when nothing was fitted
}

// Band is a curve with its expanded uncertainty. In dB a band near the null is not symmetric.
type Band struct{ Value, Low, High []float64 }
