package compose

import (
	"fmt"
	"slices"
	"strings"

	"wedgework/reports/document"
	"wedgework/reports/lot"
	"wedgework/reports/record"
	"wedgework/reports/recording"
)

// lots tells what the units of a lot show together; nothing where each stands alone.
func lots(s Source) []document.Section {
	var all []document.Section
	studies := recording.Studies(s.Outcome)
	for i, l := range s.Record.Lots {
		title := "Units together"
		if l.Lot != "" {
			title = "Lot " + l.Lot
		}
		all = append(all, document.Section{Title: title, Level: 1, Blocks: Lot(l, studies[i])})
	}
	return all
}

// Lot shows one lot: the figures unit by unit, statistics, the process, control charts. The record is that of the
// study.
func Lot(l record.Lot, s lot.Study) []document.Block {
	b := []document.Block{document.Plain(document.Sentences("units " + l.Order + "; " + l.Sentence))}
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
		Caption: "Unit by unit, " + l.Order +
			": verdicts, figures compared with limits, key figures, fitted parameters",
		Columns: columns("Figure"),
		Note:    "–: no figure; “bound”: the readings give only a lower bound.",
		Compact: true,
	}
	if len(l.Units) > beside {
		t.Caption += fmt.Sprintf("; units %d to %d of %d", from+1, to, len(l.Units))
	}
	units := l.Units[from:to]
	for _, u := range units {
		t.Columns = append(t.Columns, columns(">"+u.Unit)...)
	}
	for i, subject := range []string{"Model agreement", "Limit conformity", "Data quality"} {
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
			t.Note += fmt.Sprintf(" Unit %s, outside tolerance in the fitted model: %s.", u.Unit, strings.Join(u.Causes,
				", "))
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
		return c.Values[i].Text()
	case slices.Contains(c.Bounded, unit):
		return "bound"
	}
	return "–"
}

// statisticsTable has means, scatter and tolerance intervals.
func statisticsTable(l record.Lot) document.Table {
	t := document.Table{
		Caption: fmt.Sprintf("Statistics of the lot, and tolerance intervals for %s of all such units with %s "+
			"confidence", l.Proportion.Percent(), l.Confidence.Percent()),
		Compact: true,
		Columns: columns("Figure", "Conditions", ">n", ">Mean", ">s", ">Minimum", ">Maximum", ">k",
			">Tolerance interval", "Meets the limit"),
		Note: "Statistical tolerance intervals in accordance with ISO 16269-6, mean ± k s, for a normal distribution " +
			"with unknown mean and variance: one-sided towards a limit, otherwise two-sided. The standard deviation " +
			"s includes the scatter of the measurement, which widens the interval; errors common to all units do not " +
			"show in it. An interval predicts future units only while the process is in statistical control; none is " +
			"given if a chart shows a signal or the slope is significant.",
	}
	for _, c := range l.Characteristics {
		row := []string{labelled(c.Name, c.Unit), document.Brief(c.At), fmt.Sprint(len(c.Values)), c.Mean.Or("–"),
			c.Deviation.Or("–"), c.Least.Or("–"), c.Greatest.Or("–"), c.Tolerance.K.Or("–")}
		switch i := c.Tolerance; {
		case l.Retested:
			row = append(row, "none: retests")
		case moves(c):
			row = append(row, "none: not stable")
		case i.Low != "" && i.High != "":
			row = append(row, record.Between(i.Low, i.High))
		case i.Low != "":
			row = append(row, "≥ "+i.Low.Text())
		case i.High != "":
			row = append(row, "≤ "+i.High.Text())
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
			t.Note += fmt.Sprintf(" %s: %s excluded, because only a bound is known.", document.Capital(c.Name),
				unitList(c.Bounded))
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
		c := l.Characteristics[k]
		where := "no worse than the worst"
		if two {
			where = "between the extremes"
		}
		t.Note += fmt.Sprintf(" Without assuming a distribution: with %s confidence, at least %s of all units are %s "+
			"of these %d; for %s of all units, %d units would be needed.",
			l.Confidence.Percent(), c.Tolerance.FreeProportion.Percent(), where, len(c.Values), l.Proportion.Percent(),
			c.Tolerance.FreeSize)
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
		Caption: "Control limits, and trend from unit to unit",
		Compact: true,
		Columns: columns("Figure", "Conditions", ">Centre", ">Control limits", ">Slope per unit", ">U", ">p", "Stable"),
		Note: "Shewhart charts for individuals and moving ranges (ISO 7870-2); control limits from the mean moving " +
			"range. ",
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
		t.Rows = append(t.Rows, []string{labelled(c.Name, c.Unit), document.Brief(c.At), c.Chart.Centre.Text(),
			record.Between(c.Chart.Lower, c.Chart.Upper),
			c.Trend.Slope.Signed(), c.Trend.Uncertainty.Text(), c.Trend.PValue.PValue(), stable})
	}
	t.Note += "Slope: least-squares line over the units in their order; U is its expanded uncertainty. p is the " +
		"probability of a slope at least this steep if there is no trend; about one slope in twenty is significant " +
		"by chance."
	if trial {
		t.Note += fmt.Sprintf(" Control limits from fewer than %d units are trial limits: the absence of a signal is "+
			"weak evidence of control.", lot.TrialBelow)
	}
	return t
}

// signalTable says what moves, and which units show it.
func signalTable(l record.Lot) document.Table {
	t := document.Table{
		Caption: "Signals of instability, and the units that show them",
		Compact: true,
		Columns: columns("Figure", "Conditions", "Signals"),
		Note:    "Rules applied: " + strings.Join(lot.Rules, "; ") + ".",
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

func unitList(names []string) string {
	if len(names) == 1 {
		return "unit " + names[0]
	}
	return "units " + strings.Join(names, ", ")
}
