package compose

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"wedgework/reports/document"
	"wedgework/reports/record"
	"wedgework/reports/verify"
)

// What is signed stands on the first page, whatever was verified: of more limits than have room there, those that fail
// and the closest ones, and all of them in a table behind the signatures.

// fewer are the numbers of rows that are tried where all limits have no room before the signatures.
var fewer = []int{16, 12, 9, 7, 5, 4, 3, 2, 1}

// front makes the first section of a number of rows before the signatures, with shorter ones to stand in its place.
func front(all int, build func(rows int) []document.Block) document.Section {
	section := func(rows int) document.Section {
		return document.Section{Title: "Result", Level: 1, Blocks: build(rows)}
	}
	s := section(all)
	last := &s
	for _, rows := range fewer {
		if rows < all {
			shorter := section(rows)
			last.Shorter = &shorter
			last = last.Shorter
		}
	}
	return s
}

// urgent returns the rows of a table of limits in the order of what a reviewer must look at: failures, what is not
// decided, and then by how many uncertainties the margin exceeds the guard band.
func urgent(ls []record.Limit) []int {
	severity := map[string]int{document.Fail.String(): 0, document.Pass.String(): 2}
	rank := func(i int) (int, float64) {
		l := ls[i]
		s, ok := severity[l.Outcome]
		if !ok {
			s = 1
		}
		if l.Margin == "" {
			return s, math.Inf(-1)
		}
		u := l.Uncertainty.Float()
		if !(u > 0) {
			u = 0.01 * max(math.Abs(l.Limit.Float()), 1) // a bound has none left; a choice
		}
		beyond := l.Margin.Float()
		if l.GuardBand != "" {
			beyond -= l.GuardBand.Float()
		}
		return s, beyond / u
	}
	order := make([]int, len(ls))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		sa, ma := rank(a)
		sb, mb := rank(b)
		return cmp.Or(cmp.Compare(sa, sb), cmp.Compare(ma, mb))
	})
	return order
}

// some cuts a table of limits to the most urgent rows, in their order, and says so before it.
func some(t document.Table, ls []record.Limit, rows int) []document.Block {
	of := len(t.Rows)
	kept := slices.Sorted(slices.Values(urgent(ls)[:rows]))
	cut := document.Table{Columns: t.Columns, Compact: true}
	for _, i := range kept {
		cut.Rows = append(cut.Rows, t.Rows[i])
	}
	return []document.Block{document.Plain(fmt.Sprintf("%d of %s: those not met, and the closest. Table 1, behind "+
		"the signatures, has all of them.", rows, document.Count(of, "limit"))), cut}
}

// circumstances are what explains a unit, who measured it, where and with what: what a signature has to rest on. What a
// file does not state is missing in print too.
func (s Source) circumstances() document.Fields {
	var f document.Fields
	add := func(name string, values []string) {
		const most = 4
		if n := len(values); n > most {
			values = append(values[:most:most], fmt.Sprintf("and %d more", n-most))
		}
		text := strings.Join(values, "; ")
		if text == "" {
			text = "not stated"
		}
		f.Rows = append(f.Rows, document.Field{Name: name, Value: text})
	}
	if all := s.units(); len(all) == 1 {
		d := all[0].Diagnosis
		if c := causes(d); len(c) > 0 {
			add("Cause adopted", c)
		}
		if d.Correction != nil {
			add("Rework", []string{rework(*d.Correction)})
		}
	}
	var who, where, with []string
	for _, u := range s.units() {
		who = appendNew(who, meta(u.found, "operator"))
		for _, key := range []string{"place", "laboratory", "chamber", "bench"} {
			if v := meta(u.found, key); v != "" {
				where = appendNew(where, key+" "+v)
			}
		}
		for _, i := range instruments(u.found) {
			with = appendNew(with, i)
		}
	}
	if len(where) == 0 {
		where = []string{"place not stated"}
	}
	if len(who) == 0 {
		who = []string{"operator not stated"}
	}
	add("Operator, place", append(who, where...))
	add("Instruments", with)
	return f
}

func appendNew(all []string, s string) []string {
	if s == "" || slices.Contains(all, s) {
		return all
	}
	return append(all, s)
}

// instruments names those whose calibration the file of a unit states, with the day it is due.
func instruments(r *verify.Result) []string {
	const due = " calibration due"
	var all []string
	for _, m := range r.Meta {
		name, ok := strings.CutSuffix(strings.ToLower(m[0]), due)
		if !ok {
			continue
		}
		text := name
		if id := meta(r, name); id != "" {
			text += " " + id
		}
		all = append(all, text+" (calibration due "+m[1]+")")
	}
	return all
}

// causes are the parameters found outside their tolerances, or the gross errors that the readings look like.
func causes(d record.Diagnosis) []string {
	if len(d.Gross) > 0 {
		return []string{"a gross error: " + strings.Join(d.Gross, ", or ")}
	}
	var all []string
	for _, name := range d.Causes {
		i := slices.IndexFunc(d.Fitted, func(f record.Fitted) bool { return f.Name == name })
		if i < 0 {
			all = append(all, name)
			continue
		}
		f := d.Fitted[i]
		unit := spaced(f.Unit)
		all = append(all, fmt.Sprintf("%s is %s%s ± %s%s, specified %s%s, tolerance ±%s%s", name, f.Value.Text(), unit,
			f.Uncertainty.Text(), unit, record.Condition(f.Specified.Float()).Text(), unit, f.Tolerance.Text(), unit))
	}
	return all
}

// spaced is a unit as it stands behind a number.
func spaced(unit string) string {
	unit = unitText(unit)
	if unit == "" || strings.HasPrefix(unit, "°") {
		return unit
	}
	return " " + unit
}

// rework words the turn of a part that leaves the limits most room.
func rework(c record.Correction) string {
	unit := spaced(c.Unit)
	text := fmt.Sprintf("turn %s by %s%s ± %s%s", c.Part, c.Turn.Signed(), unit, c.Uncertainty.Text(), unit)
	const most = 3
	for i, g := range c.Gains[:min(len(c.Gains), most)] {
		if i == 0 {
			text += ": minimum isolation"
		} else {
			text += ","
		}
		text += fmt.Sprintf(" %s to %s dB (%s)", g.Before.Text(), g.After.Text(), brief(g.At))
	}
	if rest := c.Gains[min(len(c.Gains), most):]; len(rest) > 0 {
		by := func(g record.Gain) float64 { return g.After.Float() - g.Before.Float() }
		order := func(a, b record.Gain) int { return cmp.Compare(by(a), by(b)) }
		low, high := record.InUnit(by(slices.MinFunc(rest, order)), "dB"),
			record.InUnit(by(slices.MaxFunc(rest, order)), "dB")
		text += fmt.Sprintf(", and over %s by %s to %s dB", document.Count(len(rest), "further band"), low.Signed(),
			high.Signed())
	}
	return text + fmt.Sprintf(", insertion loss +%s dB", c.Cost.Text())
}

// mostNamed is how many names stand in one line of the first page; tables behind it have all.
const mostNamed = 12

// listed joins names; of many, the first ones and how many more there are.
func listed(names []string) string {
	if len(names) <= mostNamed {
		return strings.Join(names, ", ")
	}
	return strings.Join(names[:mostNamed-1], ", ") + fmt.Sprintf(" and %d more", len(names)-mostNamed+1)
}

// frontRoom is how many characters a text on the first page may have that names all limits or units: five lines.
const frontRoom = 420

// inFront is a text on the first page that names every limit or unit: what has room of it, and how much follows where.
func inFront(text, where string) string {
	if len([]rune(text)) <= frontRoom {
		return document.Sentences(text)
	}
	between := "; "
	if at := strings.Index(text, between); at < 0 || at > frontRoom {
		between = ", "
	}
	parts := strings.Split(text, between)
	kept, length := 0, 0
	for _, part := range parts {
		if length += len([]rune(part)) + len(between); length > frontRoom && kept > 0 {
			break
		}
		kept++
	}
	if kept == len(parts) {
		return document.Sentences(text)
	}
	return document.Sentences(strings.Join(parts[:kept], between) + fmt.Sprintf("; and %d more, %s", len(parts)-kept,
		where))
}
