package measured

import (
	"slices"
	"strings"
)

// Part is what is read of a file: a sheet of a workbook, and the readings of one condition. Each is the only one that
// there is where it is "".
type Part struct{ Sheet, Condition string }

// FirstCondition as the condition of a Part reads of each unit the condition that comes first in the file: who only asks
// which units there are need not know the conditions.
const FirstCondition = "\x00first"

// condition keeps the rows of the condition that is asked for. Readings before and after a test are no repeats of each
// other: a file with both is refused until somebody says which ones are meant.
func (r *reader) condition() error {
	stated, _ := r.Value(ConditionName)
	of, err := r.texts(ConditionName, stated)
	if err != nil {
		return err
	}
	want := r.part.Condition
	if of == nil {
		r.Condition = stated
		if want == "" || want == FirstCondition || plainForm(want) == plainForm(stated) {
			return nil
		}
		if stated == "" {
			return r.refuse(0, 0, "no condition", "the condition "+quote(want)+
				", in a column condition or in a line # condition: at the top")
		}
		err := r.refuseMeta(r.Meta[r.metaOf(ConditionName)], quote(stated), "the condition "+quote(want))
		err.OtherCondition = true
		return err
	}
	if want == FirstCondition {
		r.pick(r.firstConditions(of))
		return nil
	}
	var all, rest []string
	for _, c := range of {
		if !slices.Contains(all, c) {
			all = append(all, c)
		}
	}
	if want == "" && len(all) == 1 {
		want = all[0]
	}
	var rows []int
	for i, c := range of {
		if want != "" && plainForm(c) == plainForm(want) {
			rows, r.Condition = append(rows, i), c
		}
	}
	if rows == nil {
		names := make([]string, len(all))
		for i, c := range all {
			names[i] = quote(c)
		}
		found := "the conditions " + strings.Join(names, ", ")
		if want != "" {
			err := r.refuse(0, 0, found, "the condition "+quote(want))
			err.OtherCondition = true
			return err
		}
		return r.refuse(0, 0, found, "one, or the name of the one to read, as in condition="+names[0])
	}
	for _, c := range all {
		if c != r.Condition {
			rest = append(rest, c)
		}
	}
	if stated == "" {
		r.Meta = append(r.Meta, KeyValue{Key: ConditionName, Value: r.Condition, Line: r.Line[rows[0]]})
	}
	if rest != nil {
		r.Meta = append(r.Meta, KeyValue{Key: "conditions of other rows, not read here", Value: strings.Join(rest, ", "),
			Line: r.Line[rows[0]]})
	}
	r.pick(rows)
	return nil
}

// firstConditions lists the rows of each unit's first condition.
func (r *reader) firstConditions(of []string) (rows []int) {
	first := map[string]string{}
	for i, c := range of {
		unit := ""
		if r.Units != nil {
			unit = r.Units[i]
		}
		if _, seen := first[unit]; !seen {
			first[unit] = c
		}
		if first[unit] == c {
			rows = append(rows, i)
		}
	}
	return rows
}

// pick keeps some of the rows.
func (r *reader) pick(rows []int) {
	if len(rows) < r.Rows() {
		r.Table = r.Table.Pick(rows)
	}
}
