package review

import (
	"fmt"
	"math"
	"strings"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/record"
	"wedgework/reports/verify/text"
)

// conformity folds the figures into one verdict.
func conformity(figures []Figure) Verdict {
	var failed, open []string
	for _, f := range figures {
		switch f.Outcome {
		case document.Fail:
			failed = append(failed, "limit not met: "+f.sentence())
		case document.Undecided:
			open = append(open, f.required()+": "+f.Why)
		}
	}
	switch {
	case len(failed) > 0:
		return Verdict{document.Fail, strings.Join(append(failed, open...), "; ")}
	case len(open) > 0:
		return Verdict{document.Undecided, strings.Join(open, "; ")}
	case len(figures) == 1:
		return Verdict{document.Pass, "the limit is met: " + figures[0].sentence()}
	}
	return Verdict{document.Pass, "every limit is met; the closest is " + figures[Closest(figures)].sentence()}
}

// Closest is the figure with the smallest margin in parts of its limit; one that has no value comes first.
func Closest(figures []Figure) int {
	least := 0
	for i, f := range figures {
		if math.IsNaN(f.Margin) {
			return i
		}
		if f.Share() < figures[least].Share() {
			least = i
		}
	}
	return least
}

// Share is the margin in parts of the limit, by which limits of several units are compared.
func (f Figure) Share() float64 { return f.Margin / f.Limit.Value }

// required words the limit: "isolation at least 30.00 dB (1535 nm to 1565 nm, 23 °C)".
func (f Figure) required() string {
	unit := f.Limit.Quantity.Unit()
	return fmt.Sprintf("%s %s %s %s (%s)", f.Limit.Quantity, f.Limit.Side(), record.InUnit(f.Limit.Value, unit), unit,
		text.Condition(f.Limit))
}

// sentence words the limit and what the design has.
func (f Figure) sentence() string {
	unit := f.Limit.Quantity.Unit()
	return fmt.Sprintf("%s, computed %s %s at %s", f.required(), record.InUnit(f.Value, unit), unit, f.Place())
}

// Place words where the extreme is: "1535 nm, 23 °C", to 0.01 nm and 0.1 K: a search for it ends at no round number.
func (f Figure) Place() string {
	at := fmt.Sprintf("%s nm, %s °C", record.Condition(math.Round(100*float64(f.Wavelength/quantity.Nanometre))/100),
		record.Condition(math.Round(10*f.Temperature.Celsius())/10))
	if f.Port > 0 {
		at += fmt.Sprintf(", port %d", f.Port)
	}
	return at
}

// verdict compares the yield with what is required of it: the interval of the sample must lie on one side.
func (y *Yield) verdict() *Verdict {
	sentence := fmt.Sprintf("%d of %d sampled units meet every limit (95 %% interval %s to %s); required: at least %s",
		y.Good, y.Units, percent(y.Low), percent(y.High), percent(y.Least))
	switch {
	case y.Low >= y.Least:
		return &Verdict{document.Pass, sentence}
	case y.High < y.Least:
		return &Verdict{document.Fail, sentence}
	}
	return &Verdict{document.Undecided, sentence + "; sample more units"}
}

func percent(share float64) string {
	return record.Number(record.Decimal(share, record.Ratio)).Percent()
}
