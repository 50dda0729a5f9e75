package index

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"strings"

	"wedgework/reports/index/table"
	"wedgework/reports/record"
)

// tables returns the rows of the index, and their values, as CSV (RFC 4180): UTF-8, commas, numbers with a point.
func (x *Index) tables() (units, values []byte) {
	var t, v bytes.Buffer
	rows, all := csv.NewWriter(&t), csv.NewWriter(&v)
	rows.UseCRLF, all.UseCRLF = true, true
	put := func(w *csv.Writer, cells []string) { _ = w.Write(cells) } // a bytes.Buffer takes all
	put(rows, table.Heads[table.Units])
	put(all, table.Heads[table.Values])
	for i := range x.Rows {
		r := &x.Rows[i]
		least := r.tightest()
		if least == nil {
			least = &Value{}
		}
		c := r.Chain
		if c == nil {
			c = &Chain{}
		}
		put(rows, cells([]string{r.Report, r.Number, r.Digest, r.Title, r.Part, r.Issued, r.Program, r.Unit, r.Lot,
			r.Bench,
			r.Measured, r.Input, string(r.State), r.Says, r.Verdict, r.outcome("model"), r.outcome("limit"),
			r.outcome("data"), strings.Join(r.Causes, "; ")}, least.Margin,
			least.Unit, strings.TrimSuffix(least.Name+", "+least.At, ", "), strconv.FormatBool(r.Retested), r.Design,
			count(c.Test), count(c.Of), c.Stage, c.Rework, c.Predicted, c.Given, c.At, r.Condition))
		for _, q := range r.Values {
			put(all, cells([]string{r.Report, r.Digest, r.Unit, r.Lot, r.Bench, r.Measured, r.Input, string(r.State),
				strconv.FormatBool(r.Retested), q.Kind, q.Name, q.At, q.Rule}, q.Limit, q.Tolerance, q.Value, q.Margin,
				q.Uncertainty, q.Unit, q.Outcome, strconv.FormatBool(q.Bound), r.Condition))
		}
	}
	rows.Flush()
	all.Flush()
	return t.Bytes(), v.Bytes()
}

// count is a number from 1; "" for none.
func count(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

// outcome is that of the verdict whose subject begins with a word.
func (r *Row) outcome(word string) string {
	for _, v := range r.Verdicts {
		if len(v.Subject) >= len(word) && strings.EqualFold(v.Subject[:len(word)], word) {
			return v.Outcome
		}
	}
	return ""
}

// cells makes texts safe for a spreadsheet, which takes what begins with one of these characters for a formula, and
// leaves numbers as they are.
func cells(texts []string, more ...any) []string {
	all := make([]string, 0, len(texts)+len(more))
	text := func(s string) string {
		if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
			return "'" + s
		}
		return s
	}
	for _, s := range texts {
		all = append(all, text(s))
	}
	for _, m := range more {
		if n, ok := m.(record.Number); ok {
			all = append(all, string(n))
		} else {
			all = append(all, text(m.(string)))
		}
	}
	return all
}
