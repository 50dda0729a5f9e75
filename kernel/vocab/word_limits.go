package vocab

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
)

var _ = Register(Word{
	Name:    "limits",
	Summary: "requirements over a wavelength band and a temperature range",
	Params: append(boundParams(),
		Param{Name: "over", Kind: wavelengthKind.orSweep(), Mode: Keyword,
			Doc: "wavelength band: one wavelength, or a sweep, of which the first and last wavelength count"},
		Param{Name: "temperature", Kind: temperatureKind.orSweep(), Mode: Keyword, Default: room,
			Doc: "one temperature, or a sweep, of which the lowest and highest temperature count"},
		Param{Name: "change", Kind: textKind.of("text", `"before damp heat"`), Mode: Keyword, Optional: true,
			Doc: "makes these limits on the change since an earlier measurement, which the text names; all are then " +
				"at_most(), up or down; for qualification_step()"},
	),
	Returns: "limits; join requirements for different conditions with +",
	Errors:  "no figure has a limit, or at_least() and at_most() are interchanged",
	Example: "limits(isolation=at_least(30*dB), insertion_loss=at_most(0.6*dB), over=sweep(1535*nm, 1565*nm, 1*nm))",
	Source:  boundSources(),
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		_, band := points(a.Get("over"))
		_, temperatures := points(a.Get("temperature"))
		if len(band) == 0 || len(temperatures) == 0 {
			return nil, errors.New("over= and temperature= must not be empty")
		}
		low, high := slices.Min(band), slices.Max(band)
		cold, hot := slices.Min(temperatures), slices.Max(temperatures)
		list := &Limits{opaque: opaque{"limits"}}
		for _, q := range limits.Figures {
			b := arg[*Bound](a, string(q))
			if b == nil {
				continue
			}
			if !a.Has("change") && b.atLeast != q.AtLeast() {
				return nil, fmt.Errorf("%s must be %s, got %s limit, %s %s", q, boundKind(q).Want,
					map[bool]string{true: "a lower", false: "an upper"}[b.atLeast], boundText(b.atLeast), b.value)
			}
			value, err := b.value.In(limitUnit(q))
			if err != nil {
				return nil, err // the kind saw to it
			}
			l := limits.Limit{
				Quantity: q, AtLeast: b.atLeast, Value: value.Value,
				Low: quantity.Length(low), High: quantity.Length(high),
				TemperatureLow: quantity.Temperature(cold), TemperatureHigh: quantity.Temperature(hot),
				Rule: &b.rule,
			}
			if a.Has("change") {
				l.Change = &limits.Change{Since: a.Text("change")}
			}
			if l.Prior, err = priorIn(b.prior, q); err != nil {
				return nil, err
			}
			if err := l.Check(); err != nil {
				return nil, err
			}
			list.list = append(list.list, l)
		}
		if len(list.list) == 0 {
			return nil, fmt.Errorf("no figure has a limit: give one such as %s=%s", string(limits.Isolation),
				limits.Isolation.Example())
		}
		return list, nil
	},
})

// boundParams are the arguments that set limits, one of each quantity.
func boundParams() []Param {
	var all []Param
	for _, q := range limits.Figures {
		side := "upper"
		if q.AtLeast() {
			side = "lower"
		}
		all = append(all, Param{Name: string(q), Kind: boundKind(q), Mode: Keyword, Optional: true,
			Doc: side + " limit of the " + q.Doc()})
	}
	return all
}

// boundSources says by which standards the quantities are measured.
func boundSources() string {
	var all []string
	for _, q := range limits.Figures {
		all = append(all, q.String()+" by "+q.Source())
	}
	return strings.Join(all, ", ")
}
