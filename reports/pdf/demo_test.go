package pdf

import (
	"fmt"
	"math"
	"strings"

	"wedgework/reports/document"
	"wedgework/reports/figure"
)

// demo is a report as the program makes them, with every kind of block. The unit and its data are invented.
func demo() document.Document {
	return document.Document{
		Title:    "Verification of optical isolator, seabed interrogator channel 3",
		Subtitle: "Single-stage wedge isolator, measured isolation and insertion loss against the model",
		Number:   "CR-2026-114",
		Revision: "B",
		Identity: []document.Field{
			{Name: "Part", Value: "WI-1550-S"}, {Name: "Revision", Value: "B"},
			{Name: "Change record", Value: "CR-2026-114"}, {Name: "Unit", Value: "0417"},
			{Name: "Lot", Value: "26-11"}, {Name: "Measured", Value: "2026-11-18"},
			{Name: "Source polarization", Value: "scrambled"}, {Name: "Operator", Value: "bench 2"},
			{Name: "Application", Value: "1550 nm source of the interrogator of a seabed hydrophone array, −5 to 70 " +
				"°C"},
		},
		Verdicts: []document.Verdict{
			{Subject: "Model agreement", Outcome: document.Fail,
				Sentence: "The least isolation in band at 23 °C is 26.1 dB and the model as specified predicts 34.8 " +
					"± 2.1 dB (E_n = −3.9, k = 2); a rotation error of −0.58 ± 0.04° explains it."},
			{Subject: "Limit conformity", Outcome: document.Undecided,
				Sentence: "The least isolation over −5 to 70 °C is 22.2 dB against a limit of 22 dB, less than the " +
					"guard band of 0.4 dB."},
			{Subject: "Data quality", Outcome: document.Pass,
				Sentence: "All 483 readings lie above the fixture floor; the reference trace is 2 h old and both " +
					"instruments are in calibration."},
		},
		Sections: []document.Section{
			{Title: "Limits", Level: 1, Blocks: []document.Block{
				document.Table{
					Caption: "Table 1. Limits, least margins and guard bands",
					Columns: []document.Column{{Head: "Quantity"}, {Head: "Limit / dB", Align: document.Right},
						{Head: "Temperature"}, {Head: "Band / nm"},
						{Head: "Worst reading / dB", Align: document.Right}, {Head: "At"},
						{Head: "Margin / dB", Align: document.Right}, {Head: "Guard / dB", Align: document.Right},
						{Head: "Result"}},
					Rows: [][]string{
						{"isolation", "≥ 30.0", "23 °C", "1535–1565", "26.1", "1565.0 nm", "−3.9", "0.4", "fail"},
						{"isolation", "≥ 22.0", "−5 to 70 °C", "1535–1565", "22.2", "1565.0 nm, −5 °C", "0.2", "0.4",
							"undecided"},
						{"insertion loss", "≤ 0.60", "−5 to 70 °C", "1535–1565", "0.47", "1541.5 nm, 70 °C", "0.13",
							"0.06", "pass"},
						{"PDL", "≤ 0.10", "23 °C", "1535–1565", "0.04", "1560.0 nm", "0.06", "0.02", "pass"},
					},
					Note: "Margins are positive on the permitted side. The raw minimum of a noisy trace is biased " +
						"downwards by about 0.3 dB; the statistic is declared as raw.",
				},
			}},
			{Title: "Isolation over wavelength", Level: 1, Blocks: []document.Block{
				document.Plain("The measured points carry expanded uncertainties (k = 2). The shaded bands are the " +
					"spread of the model over the declared tolerances, 2.5 to 97.5 percent."),
				demoIsolation().Figure("Figure 1. Isolation over wavelength at three temperatures: measured points " +
					"with expanded uncertainty (k = 2), the model, and its band over the declared tolerances."),
				demoResiduals().Figure("Figure 2. Residuals, measured less model, in units of the combined expanded " +
					"uncertainty (E_n). Points beyond ±1 do not agree."),
				demoLoss().Figure("Figure 3. Insertion loss and polarization-dependent loss over wavelength at 23 °C."),
			}},
			{Title: "Narrative", Level: 1, Blocks: narrative(demoNarrative)},
			{Title: "Diagnosis", Level: 1, Blocks: []document.Block{
				document.Fields{Caption: "Fitted parameters", Rows: []document.Field{
					{Name: "Rotator plus axis error d + e", Value: "−0.58 ± 0.04°"},
					{Name: "d − e", Value: "not determined by this data: 0.0005 dB at 0.6°"},
					{Name: "Extinction ratio of the rotator", Value: "41.2 dB, more than 38 dB at 95 %"},
					{Name: "Reduced chi-squared", Value: "1.07 with 481 degrees of freedom"}}},
				document.Verdict{Subject: "Correction", Outcome: document.Outcome(0),
					Sentence: "Turning wedge 2 by +0.58° is predicted to bring the least isolation in band to 34.1 " +
						"dB at a cost of 0.0004 dB."},
			}},
			{Title: "Cautions", Level: 1, Blocks: []document.Block{
				document.Caution{Text: "Invisible laser radiation. Observe IEC 60825-1 and IEC 60825-2 when the " +
					"source is on."},
				document.Caution{Text: "Strong magnets. They disturb cardiac implants, pinch fingers and erase " +
					"magnetic media; keep tools of steel away from the rotator."},
				document.Caution{Text: "Verification by this program replaces neither qualification testing nor the " +
					"judgement of a licensed or responsible person under local rules."},
			}},
			{Title: "Provenance", Level: 1, Blocks: []document.Block{
				document.Table{
					Caption: "Table 2. What this report was made from",
					Columns: []document.Column{{Head: "Item"}, {Head: "Name"}, {Head: "SHA-256", Mono: true}},
					Rows: [][]string{
						{"notebook", "verify-single-stage.ipynb",
							"3f1c6e7b1f0f2b7c9a9d4b5f0b6c1c2e8d7a6b5c4d3e2f1a0b9c8d7e6f5a4b3c"},
						{"input sweep", "unit-0417.csv",
							"a94a8fe5ccb19ba61c4c0873d391e987982fbbd3d4f4b5c6d7e8f90123456789"},
						{"material constants", "YVO4, Bi:RIG",
							"0b6c1c2e8d7a6b5c4d3e2f1a0b9c8d7e6f5a4b3c3f1c6e7b1f0f2b7c9a9d4b5f"},
						{"program", "wedgework 0.1, go1.26", "not hashed: named by its version"},
					}},
				document.Heading{Level: 1, Text: "Cell 4 of the notebook"},
				document.Code{Text: demoCode},
			}},
			{Title: "Signatures", Level: 1, Blocks: []document.Block{
				document.Signatures{Rows: []document.Signature{{Role: "Prepared", Name: "A. Example",
					Date: "2026-11-25"}, {Role: "Reviewed"}, {Role: "Approved"}}},
			}},
		},
		Notice: "The unit and its data are invented for demonstration. Not a qualification test.",
	}
}

const demoNarrative = `The isolator was **measured in both directions** with a tunable source and a power meter. The film's
slopes are *−0.06 °/K* and *−0.07 °/nm*, so a single stage cannot hold 30 dB over the whole range; see
[the method](https://example.org/methods/isolation) and the word ` + "`verify`" + `.

## Set-up

1. Reference trace through the patch cord, every 0.5 nm from 1500 to 1580 nm.
2. Forward sweep at each temperature:
   - wait until the chamber has settled for 20 min,
   - take the sweep twice; the repeat enters the budget.
3. Backward sweep with the unit reversed.

| contribution | u / dB | distribution | shared by |
|---|--:|:-:|---|
| power meter linearity | 0.05 | normal | all |
| repeatability of the connector | 0.05 | uniform | run |
| wavelength, 0.02 nm through the slope | 0.02 | normal | all |

> Quotations are kept as written.

---

The fixture floor of λ-independent back-reflection is 62 dB; σ of the floor is 0.8 dB.`

const demoCode = `w1 = wedge(crystal("YVO4"), apex=5*deg, thickness=0.5*mm, axis=22.5*deg, slanted="front")
r = rotator(garnet("Bi:RIG", rotation=1000*deg/cm, per_kelvin=-0.06*deg/kelvin, per_nm=-0.07*deg/nm, extinction=45*dB), angle=45*deg, at=1550*nm)
w2 = wedge(crystal("YVO4"), apex=5*deg, thickness=0.5*mm, axis=67.5*deg, slanted="back")
s = stack(w1, gap(0.4*mm), r, gap(0.4*mm), w2, beam=collimator(waist=0.2*mm, working_distance=20*mm))
lim = limits(isolation=at_least(30*dB), over=sweep(1535*nm, 1565*nm, 0.5*nm), temperature=23*degC)
v = verify(s, measured("sweep"), limits=lim)`

var demoTemperatures = []string{"−5 °C", "23 °C", "70 °C"}

// demoCurve is a leak of sin^2 of an angle that drifts with wavelength and temperature, over a floor.
func demoCurve(k int, x, shift float64) float64 {
	t := []float64{-5, 23, 70}[k]
	d := (shift - 0.07*(x-1550) - 0.06*(t-23)) * math.Pi / 180
	return -10 * math.Log10(math.Pow(math.Sin(d), 2)+3e-5)
}

// demoNoise is a repeatable stand-in for noise.
func demoNoise(i, k int) float64 { return math.Sin(float64(i*i*7 + k*131)) }

func demoIsolation() figure.Chart {
	c := figure.Chart{X: figure.Axis{Label: "Wavelength", Unit: "nm"}, Y: figure.Axis{Label: "Isolation", Unit: "dB"}}
	for k, t := range demoTemperatures {
		model := figure.Series{Label: "model, " + t, Color: figure.Black, Line: figure.LineAt(k)}
		points := figure.Series{Label: "measured, " + t, Color: figure.ColorAt(k), Marker: figure.MarkerAt(k)}
		band := figure.Band{Label: "model band, " + t, Color: figure.ColorAt(k)}
		for i := range 161 {
			x := 1500 + 0.5*float64(i)
			y := demoCurve(k, x, -0.58)
			model.X, model.Y = append(model.X, x), append(model.Y, y)
			u := 0.2 + math.Pow(10, (y-60)/20)*3
			points.X, points.Y, points.Err = append(points.X, x), append(points.Y, y+u*0.6*demoNoise(i, k)),
				append(points.Err, u)
			a, b := demoCurve(k, x, -0.88), demoCurve(k, x, -0.28)
			band.X, band.Low, band.High = append(band.X, x), append(band.Low, min(a, b, y)),
				append(band.High, max(a, b, y))
		}
		c.Series = append(c.Series, points, model)
		c.Bands = append(c.Bands, band)
	}
	c.Limits = []figure.Limit{
		{Label: "≥ 30 dB at 23 °C", At: 30, From: 1535, To: 1565, Forbid: figure.Below},
		{Label: "≥ 22 dB, −5 to 70 °C", At: 22, From: 1535, To: 1565, Forbid: figure.Below},
	}
	return c
}

func demoResiduals() figure.Panels {
	p := figure.Panels{Columns: 3, ShareX: true, ShareY: true}
	for k, t := range demoTemperatures {
		s := figure.Series{Color: figure.ColorAt(k), Marker: figure.MarkerAt(k)}
		for i := range 161 {
			s.X, s.Y = append(s.X, 1500+0.5*float64(i)), append(s.Y, 0.8*demoNoise(i, k))
		}
		p.Charts = append(p.Charts, figure.Chart{Title: t, X: figure.Axis{Label: "Wavelength", Unit: "nm"},
			Y:      figure.Axis{Label: "E_n"},
			Series: []figure.Series{s}, Limits: []figure.Limit{{At: 1, Forbid: figure.Above},
				{At: -1, Forbid: figure.Below}}})
	}
	return p
}

func demoLoss() figure.Panels {
	loss := figure.Series{Label: "insertion loss, measured", Color: figure.Blue, Marker: figure.Circle}
	pdl := figure.Series{Label: "PDL, measured", Color: figure.Vermillion, Marker: figure.Square}
	model := figure.Series{Label: "model", Color: figure.Black, Line: figure.Solid}
	for i := range 81 {
		x := 1500 + float64(i)
		y := 0.38 + 2e-5*math.Pow(x-1548, 2)
		loss.X, loss.Y, loss.Err = append(loss.X, x), append(loss.Y, y+0.01*demoNoise(i, 5)), append(loss.Err, 0.03)
		pdl.X, pdl.Y, pdl.Err = append(pdl.X, x), append(pdl.Y, 0.03+0.008*demoNoise(i, 6)), append(pdl.Err, 0.015)
		model.X, model.Y = append(model.X, x), append(model.Y, y)
	}
	x := figure.Axis{Label: "Wavelength", Unit: "nm"}
	return figure.Panels{ShareX: true, Charts: []figure.Chart{
		{X: x, Y: figure.Axis{Label: "Insertion loss", Unit: "dB"}, Series: []figure.Series{loss, model},
			Limits: []figure.Limit{{Label: "≤ 0.60 dB", At: 0.6, Forbid: figure.Above}}},
		{X: x, Y: figure.Axis{Label: "PDL", Unit: "dB"}, Series: []figure.Series{pdl},
			Limits: []figure.Limit{{Label: "≤ 0.10 dB", At: 0.1, Forbid: figure.Above}}},
	}}
}

func demoAttachments() []Attachment {
	var csv strings.Builder
	csv.WriteString("wavelength [nm],isolation [dB]\n")
	for i := range 161 {
		fmt.Fprintf(&csv, "%.1f,%.2f\n", 1500+0.5*float64(i), demoCurve(1, 1500+0.5*float64(i), -0.58))
	}
	out := []Attachment{
		{Name: "report.ipynb", Description: "the executed notebook", MIME: "application/x-ipynb+json",
			Relation: "Source", Data: []byte(`{"cells":[]}`)},
		{Name: "unit-0417.csv", Description: "the measured sweep", MIME: "text/csv", Relation: "Data",
			Data: []byte(csv.String())},
		{Name: "Prüfling (λ).txt", Description: "a name beyond ASCII", MIME: "text/plain", Relation: "Supplement",
			Data: []byte{0, 1, 2, 255}},
	}
	for i := range 9 { // more than nine, past which fpdf forgot to sort
		out = append(out, Attachment{Name: fmt.Sprintf("extra-%d.json", 12-i), MIME: "application/json",
			Relation: "Supplement", Data: []byte("{}")})
	}
	return out
}

// narrative is Markdown that is set without a warning.
func narrative(src string) []document.Block {
	blocks, warnings := document.Markdown(src, nil)
	if len(warnings) > 0 {
		panic(fmt.Sprint(warnings))
	}
	return blocks
}
