package vocab

import (
	"errors"
	"fmt"
	"slices"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
)

var _ = Register(Word{
	Name:    "limits",
	Summary: "requirements over a wavelength band and a temperature range",
	Params: []Param{
		{Name: "isolation", Kind: boundKind(true, "a lower limit such as at_least(30*dB)"), Mode: Keyword, Optional: true,
			Doc: "lower limit of the isolation, minimum over polarization"},
		{Name: "insertion_loss",
			Kind: boundKind(false, "an upper limit such as at_most(0.6*dB)"), Mode: Keyword, Optional: true,
			Doc: "upper limit of the insertion loss, maximum over polarization"},
		{Name: "pdl", Kind: boundKind(false, "an upper limit such as at_most(0.1*dB)"), Mode: Keyword, Optional: true,
			Doc: "upper limit of the forward polarization-dependent loss (PDL)"},
		{Name: "over", Kind: wavelengthKind.orSweep(), Mode: Keyword,
			Doc: "wavelength band: one wavelength, or a sweep, of which the first and last wavelength count"},
		{Name: "temperature", Kind: temperatureKind.orSweep(), Mode: Keyword, Default: room,
			Doc: "one temperature, or a sweep, of which the lowest and highest temperature count"},
	},
	Returns: "limits; join requirements for different conditions with +",
	Errors:  "no figure has a limit, or at_least() and at_most() are interchanged",
	Example: "limits(isolation=at_least(30*dB), insertion_loss=at_most(0.6*dB), over=sweep(1535*nm, 1565*nm, 1*nm))",
	Source:  "isolation by IEC 61202-1, insertion loss by IEC 61300-3-4, PDL by IEC 61300-3-2",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		_, band := points(a.Get("over"))
		_, temperatures := points(a.Get("temperature"))
		if len(band) == 0 || len(temperatures) == 0 {
			return nil, errors.New("over= and temperature= must not be empty")
		}
		low, high := slices.Min(band), slices.Max(band)
		cold, hot := slices.Min(temperatures), slices.Max(temperatures)
		list := &Limits{opaque: opaque{"limits"}}
		for _, name := range limits.Quantities {
			b := arg[*Bound](a, name)
			if b == nil {
				continue
			}
			l := limits.Limit{
				Quantity: name, AtLeast: b.atLeast, Value: b.value.SI(),
				Low: quantity.Length(low), High: quantity.Length(high),
				TemperatureLow: quantity.Temperature(cold), TemperatureHigh: quantity.Temperature(hot),
				Rule: &b.rule, Prior: b.prior,
			}
			if err := l.Check(); err != nil {
				return nil, fmt.Errorf("%s: %w", name, err)
			}
			list.list = append(list.list, l)
		}
		if len(list.list) == 0 {
			return nil, errors.New("no figure has a limit: give isolation=, insertion_loss= or pdl=")
		}
		return list, nil
	},
})
