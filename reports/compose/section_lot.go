package compose

import (
	"fmt"
	"slices"
	"strings"

	"wedgework/reports/document"
	"wedgework/reports/lot"
	"wedgework/reports/record"
)

// lots tells what the units of a lot show together; nothing where each stands alone.
func lots(s Source) []document.Section {
	var all []document.Section
	studies := s.Outcome.Studies()
	for i, l := range s.Record.Lots {
		title := "Units together"
		if l.Lot != "" {
			title = "Lot " + l.Lot
		}
		all = append(all, document.Section{Title: title, Level: 1, Blocks: Lot(l, studies[i])})
	}
	return all
}

// Lot shows one lot: the figures unit by unit, statistics, the process, control charts. The record is that of the study.
func Lot(l record.Lot, s lot.Study) []document.Block {
	b := []document.Block{document.Plain(document.Sentences(l.Sentence))}
	for from := 0; from < len(l.Units); from += beside {
		b = append(b, figuresTable(l, from, min(from+beside, len(l.Units))))
	}
	b = append(b, statisticsTable(l))
	for _, t := range []document.Table{processTable(l), signalTable(l)} {
		if len(t.Rows) > 0 {
			b = append(b, t)
		}
	}
	return append(b, chartFigures(s)...)
}

// beside is how many units have room beside each other.
const beside = 12

// figuresTable has a column for each of some units, in their order: verdicts, figures and fitted parameters, causes.
func figuresTable(l record.Lot, from, to int) document.Table {
	t := document.Table{
		Caption: "Unit by unit, in the order in which they were given: verdicts, figures held against limits, declared figures, fitted parameters",
		Columns: columns("Figure"),
		Note:    "A dash stands where there is no figure, “bound” where the readings give only a bound of it.",
		Compact: true,
	}
	if len(l.Units) > beside {
		t.Caption += fmt.Sprintf("; units %d to %d of %d", from+1, to, len(l.Units))
	}
	units := l.Units[from:to]
	for _, u := range units {
		t.Columns = append(t.Columns, columns(">"+u.Unit)...)
	}
	for i, subject := range []string{"model agreement", "limit conformity", "data quality"} {
		row := []string{subject}
		for _, u := range units {
			row = append(row, short(u.Verdicts[i]))
		}
		t.Rows = append(t.Rows, row)
	}
	for _, c := range l.Characteristics {
		row := []string{labelled(c.Name, c.Unit)}
		if c.At != "" {
			row[0] += ", " + document.Brief(c.At)
		}
		for _, u := range units {
			row = append(row, valueOf(c, u.Unit))
		}
		t.Rows = append(t.Rows, row)
	}
	for _, u := range units {
		if len(u.Causes) > 0 {
			t.Note += fmt.Sprintf(" Outside its tolerance as diagnosed, of unit %s: %s.", u.Unit, strings.Join(u.Causes, ", "))
		}
	}
	return t
}

// short words an outcome for a narrow column.
func short(outcome string) string {
	switch outcome {
	case document.Pass.String():
		return outcome
	case document.Fail.String():
		return "FAIL"
	case document.Undecided.String():
		return "undec."
	}
	return "–"
}

// valueOf prints the value of one unit.
func valueOf(c record.Characteristic, unit string) string {
	switch i := slices.Index(c.Units, unit); {
	case i >= 0:
		return num(c.Values[i])
	case slices.Contains(c.Bounded, unit):
		return "bound"
	}
	return "–"
}

// statisticsTable has means, scatter and tolerance intervals.
func statisticsTable(l record.Lot) document.Table {
	t := document.Table{
		Caption: fmt.Sprintf("Statistics over the units, and where %s of all such units lie with %s confidence", percent(l.Proportion), percent(l.Confidence)),
		Compact: true,
		Columns: columns("Figure", "Where", ">n", ">Mean", ">s", ">Least", ">Greatest", ">k", ">Tolerance interval", "Limit kept"),
		Note: "Statistical tolerance intervals after ISO 16269-6, mean ± k s, for a normal distribution with unknown mean and variance: one-sided towards a limit, else two-sided. " +
			"s contains the scatter of the measurement, which widens the interval; errors that all units share do not show in it. " +
			"An interval speaks for units to come only when the process holds still: where a chart has a signal or the slope is significant, there is none.",
	}
	for _, c := range l.Characteristics {
		row := []string{labelled(c.Name, c.Unit), document.Brief(c.At), fmt.Sprint(len(c.Values)), orElse(c.Mean, "–"), orElse(c.Deviation, "–"), orElse(c.Least, "–"), orElse(c.Greatest, "–"), orElse(c.Tolerance.K, "–")}
		switch i := c.Tolerance; {
		case moves(c):
			row = append(row, "not stable")
		case i.Low != "" && i.High != "":
			row = append(row, between(i.Low, i.High))
		case i.Low != "":
			row = append(row, "≥ "+num(i.Low))
		case i.High != "":
			row = append(row, "≤ "+num(i.High))
		default:
			row = append(row, "–")
		}
		kept := ""
		switch {
		case c.Keeps == document.Pass.String():
			kept = "yes"
		case c.Keeps != "":
			kept = "not shown"
		}
		t.Rows = append(t.Rows, append(row, kept))
		if len(c.Bounded) > 0 {
			t.Note += fmt.Sprintf(" %s: only a bound is known of %s, left out.", document.Capital(c.Name), unitList(c.Bounded))
		}
	}
	return withFree(t, l)
}

// withFree adds to the note what holds whatever the distribution, and what so many units are worth.
func withFree(t document.Table, l record.Lot) document.Table {
	for _, two := range []bool{false, true} {
		k := slices.IndexFunc(l.Characteristics, func(c record.Characteristic) bool {
			return c.Tolerance.K != "" && !moves(c) && (c.Tolerance.Low != "" && c.Tolerance.High != "") == two
		})
		if k < 0 {
			continue
		}
		i, where := l.Characteristics[k].Tolerance, "at least as good as the worst of %d units are"
		if two {
			where = "between the extremes of %d units lie"
		}
		t.Note += fmt.Sprintf(" Whatever the distribution, "+where+" %s of all units with the same confidence; for %s it takes %d units.",
			len(l.Characteristics[k].Values), percent(i.FreeProportion), percent(l.Proportion), i.FreeSize)
	}
	return t
}

// moves reports that a rule or the trend sees the process move: its scatter says nothing of units to come.
func moves(c record.Characteristic) bool {
	return c.Trend != nil && c.Trend.Significant || c.Chart != nil && len(c.Chart.Signals) > 0
}

// processTable says whether the process holds still.
func processTable(l record.Lot) document.Table {
	t := document.Table{
		Caption: "From unit to unit: control limits and trend",
		Compact: true,
		Columns: columns("Figure", "Where", ">Centre", ">Control limits", ">Slope", ">U", ">p", "Stable"),
		Note:    "Shewhart charts for individuals and moving ranges, ISO 7870-2, limits from the mean moving range. ",
	}
	trial := false
	for _, c := range l.Characteristics {
		if c.Chart == nil || c.Trend == nil {
			continue
		}
		trial = trial || c.Chart.Trial
		stable := "no signal"
		if moves(c) {
			stable = "no"
		}
		t.Rows = append(t.Rows, []string{labelled(c.Name, c.Unit), document.Brief(c.At), num(c.Chart.Centre), between(c.Chart.Lower, c.Chart.Upper),
			signed(c.Trend.Slope), num(c.Trend.Uncertainty), least(c.Trend.PValue), stable})
	}
	t.Note += "The slope, per unit, is that of the least-squares line over the units in their order, U its expanded uncertainty, p the chance of one as steep without a trend; among twenty slopes one is significant by chance."
	if trial {
		t.Note += fmt.Sprintf(" Control limits from fewer than %d units are for trial: a chart without a signal shows little.", lot.TrialBelow)
	}
	return t
}

// signalTable says what moves, and which units show it.
func signalTable(l record.Lot) document.Table {
	t := document.Table{
		Caption: "What is not stable, and which units show it",
		Compact: true,
		Columns: columns("Figure", "Where", "Signals"),
		Note:    "Rules in force: " + strings.Join(lot.Rules, "; ") + ".",
	}
	for _, c := range l.Characteristics {
		if !moves(c) {
			continue
		}
		var signals []string
		if c.Chart != nil {
			signals = slices.Clone(c.Chart.Signals)
		}
		if c.Trend.Significant {
			signals = append(signals, "significant slope")
		}
		t.Rows = append(t.Rows, []string{labelled(c.Name, c.Unit), document.Brief(c.At), strings.Join(signals, "; ")})
	}
	return t
}

func labelled(name, unit string) string {
	if unit == "" {
		return name
	}
	return name + " (" + unit + ")"
}

func unitList(names []string) string {
	if len(names) == 1 {
		return "unit " + names[0]
	}
	return "units " + strings.Join(names, ", ")
}

// percent prints a ratio of the record.
func percent(n record.Number) string { return compact(100*n.Float()) + tie + "%" }
