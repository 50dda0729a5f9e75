package lot

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"

	"wedgework/reports/verify"
)

// The keys of a file's metadata that put units in order: when the unit was measured, and its place in the production.
const (
	measuredKey = "measured"
	sequenceKey = "sequence"
)

// Order says by what the units of a lot are ordered.
type Order string

// ByTime is by the time measured, BySequence by the sequence that the files state, ByName by the names of the units as
// a person counts them, 8 before 10. AsGiven is an order that somebody chose.
const (
	ByTime     Order = "time measured"
	BySequence Order = "stated sequence"
	ByName     Order = "unit number"
	AsGiven    Order = "as given"
)

// sorted puts results in the order of production: by the time measured where every file states one and they differ,
// else by a stated sequence, else by name. Within one time the sequence decides, and then the name.
func sorted(results []*verify.Result) ([]*verify.Result, Order) {
	type entry struct {
		r        *verify.Result
		at       time.Time
		sequence float64
	}
	all := make([]entry, len(results))
	dated, numbered := true, true
	for i, r := range results {
		at, ok := When(r)
		n, err := strconv.ParseFloat(strings.TrimSpace(meta(r, sequenceKey)), 64)
		dated, numbered = dated && ok, numbered && err == nil
		all[i] = entry{r, at, n}
	}
	differ := func(same func(a, b entry) bool) bool {
		return slices.ContainsFunc(all, func(e entry) bool { return !same(e, all[0]) })
	}
	dated = dated && differ(func(a, b entry) bool { return a.at.Equal(b.at) })
	numbered = numbered && differ(func(a, b entry) bool { return a.sequence == b.sequence })
	slices.SortStableFunc(all, func(a, b entry) int {
		c := 0
		if dated {
			c = a.at.Compare(b.at)
		}
		if c == 0 && numbered {
			c = cmp.Compare(a.sequence, b.sequence)
		}
		if c == 0 {
			c = Natural(label(a.r), label(b.r))
		}
		return c
	})
	out := make([]*verify.Result, len(all))
	for i, e := range all {
		out[i] = e.r
	}
	switch {
	case dated:
		return out, ByTime
	case numbered:
		return out, BySequence
	}
	return out, ByName
}

// Words says on a page by what the units are ordered.
func (o Order) Words() string {
	switch o {
	case ByTime:
		return "in order of the time measured"
	case BySequence:
		return "in the sequence that the files state"
	case AsGiven:
		return "in the order given"
	}
	return "in order of the unit number, because the files state no times that differ and no sequence"
}

// layouts are the ways in which a file may state when it was measured: ISO 8601, with or without a time of day.
var layouts = []string{time.RFC3339, "2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02 15:04:05",
	"2006-01-02 15:04", time.DateOnly}

// When returns the time at which a unit was measured, as its file states it.
func When(r *verify.Result) (time.Time, bool) {
	return ParseWhen(meta(r, measuredKey))
}

// ParseWhen reads a time as files state it: ISO 8601, with or without a time of day.
func ParseWhen(text string) (time.Time, bool) {
	text = strings.TrimSpace(text)
	for _, l := range layouts {
		if t, err := time.Parse(l, text); err == nil {
			return t, true
		}
	}
	return time.Time{}, false
}

func meta(r *verify.Result, key string) string {
	for _, m := range r.Meta {
		if strings.EqualFold(m[0], key) {
			return m[1]
		}
	}
	return ""
}

// Natural compares names as a person counts: digits in a row are one number, so that 8 stands before 10.
func Natural(a, b string) int {
	for a != "" && b != "" {
		na, nb := digits(a), digits(b)
		if na == 0 || nb == 0 {
			if c := cmp.Compare(a[0], b[0]); c != 0 {
				return c
			}
			a, b = a[1:], b[1:]
			continue
		}
		x, y := strings.TrimLeft(a[:na], "0"), strings.TrimLeft(b[:nb], "0")
		if c := cmp.Or(cmp.Compare(len(x), len(y)), strings.Compare(x, y)); c != 0 {
			return c
		}
		a, b = a[na:], b[nb:]
	}
	return cmp.Compare(len(a), len(b))
}

// digits counts those that a text begins with.
func digits(s string) int {
	n := 0
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	return n
}
