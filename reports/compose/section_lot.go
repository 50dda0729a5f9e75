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

// Lot shows one lot: the units with their verdicts, statistics, the process, control charts. The record is that of the
// study.
func Lot(l record.Lot, s lot.Study) []document.Block {
	b := []document.Block{document.Plain(document.Sentences(l.Sentence)), unitTable(l), statisticsTable(l)}
	if t := processTable(l); len(t.Rows) > 0 {
		b = append(b, t)
	}
	return append(b, chartFigures(s)...)
}

// unitTable has the units in their order, with verdicts, the figures held against limits, and causes.
func unitTable(l record.Lot) document.Table {
	t := document.Table{
		Caption: "The units in the order in which they were given, with their verdicts",
		Columns: columns(">No.", "Unit", "Model agreement", "Limit conformity", "Data quality"),
		Note:    "Causes are the parameters that the diagnosis found outside their tolerance.",
	}
	var figures []record.Characteristic
	for _, c := range l.Characteristics {
		if c.Kind == string(lot.OfLimit) {
			figures = append(figures, c)
			t.Columns = append(t.Columns, columns(">Limit "+fmt.Sprint(len(figures)))...)
			t.Note += fmt.Sprintf(" Limit %d: %s %s %s dB, %s.", len(figures), c.Name, c.Rule, num(c.Limit), document.Brief(c.At))
		}
	}
	t.Columns = append(t.Columns, columns("Causes")...)
	for i, u := range l.Units {
		row := append([]string{fmt.Sprint(i + 1), u.Unit}, u.Verdicts...)
		for _, c := range figures {
			row = append(row, valueOf(c, u.Unit))
		}
		t.Rows = append(t.Rows, append(row, strings.Join(u.Causes, ", ")))
	}
	return t
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
		Columns: columns("Figure", "Where", ">n", ">Mean", ">s", ">Least", ">Greatest", ">k", ">Tolerance interval", "Limit kept"),
		Note: "Statistical tolerance intervals after ISO 16269-6, mean ± k s, for a normal distribution with unknown mean and variance: one-sided towards a limit, else two-sided. " +
			"s contains the scatter of the measurement, which widens the interval; errors that all units share do not show in it. " +
			"An interval speaks for units to come only when the process holds still: where a chart has a signal or the slope is significant, nothing is shown.",
	}
	for _, c := range l.Characteristics {
		row := []string{labelled(c.Name, c.Unit), document.Brief(c.At), fmt.Sprint(len(c.Values)), orElse(c.Mean, "–"), orElse(c.Deviation, "–"), orElse(c.Least, "–"), orElse(c.Greatest, "–"), orElse(c.Tolerance.K, "–")}
		switch i := c.Tolerance; {
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
		case c.Keeps != "" && (c.Trend != nil && c.Trend.Significant || c.Chart != nil && len(c.Chart.Signals) > 0):
			kept = "not stable"
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
			return c.Tolerance.K != "" && (c.Tolerance.Low != "" && c.Tolerance.High != "") == two
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

// processTable says whether the process holds still.
func processTable(l record.Lot) document.Table {
	t := document.Table{
		Caption: "From unit to unit: control limits, signals and trend",
		Columns: columns("Figure", "Where", ">Centre", ">Control limits", ">Slope", ">U", ">p", "Signals"),
		Note:    "Shewhart charts for individuals and moving ranges, ISO 7870-2, limits from the mean moving range. Rules in force: " + strings.Join(lot.Rules, "; ") + ". ",
	}
	trial := false
	for _, c := range l.Characteristics {
		if c.Chart == nil || c.Trend == nil {
			continue
		}
		trial = trial || c.Chart.Trial
		signals := slices.Clone(c.Chart.Signals)
		if c.Trend.Significant {
			signals = append(signals, "significant slope")
		}
		t.Rows = append(t.Rows, []string{labelled(c.Name, c.Unit), document.Brief(c.At), num(c.Chart.Centre), between(c.Chart.Lower, c.Chart.Upper),
			signed(c.Trend.Slope), num(c.Trend.Uncertainty), least(c.Trend.PValue), orWord(strings.Join(signals, "; "), "none")})
	}
	t.Note += "The slope, per unit, is that of the least-squares line over the units in their order, U its expanded uncertainty, p the chance of one as steep without a trend; among twenty slopes one is significant by chance."
	if trial {
		t.Note += fmt.Sprintf(" Control limits from fewer than %d units are for trial: a chart without a signal shows little.", lot.TrialBelow)
	}
	return t
}

func labelled(name, unit string) string {
	if unit == "" {
		return name
	}
	return name + " (" + unit + ")"
}

func orWord(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

func unitList(names []string) string {
	if len(names) == 1 {
		return "unit " + names[0]
	}
	return "units " + strings.Join(names, ", ")
}

// percent prints a ratio of the record.
func percent(n record.Number) string { return compact(100*n.Float()) + tie + "%" }
