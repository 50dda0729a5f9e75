package regenerate

import (
	"fmt"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// lineNumbers returns the line of every key of a TOML document that has been decoded before, by its full name with
// the number of each [[table]] in it: "report.0.data.sweep".
func lineNumbers(data []byte) map[string]int {
	lines := map[string]int{}
	count := map[string]int{}
	table := ""
	p := &unstable.Parser{}
	p.Reset(data)
	for p.NextExpression() {
		e := p.Expression()
		key, at := keyOf(e)
		line := p.Shape(at).Start.Line
		switch e.Kind {
		case unstable.ArrayTable:
			table = fmt.Sprintf("%s.%d", key, count[key])
			count[key]++
			lines[table] = line
		case unstable.Table:
			table = numbered(key, count)
			lines[table] = line
		case unstable.KeyValue:
			note(p, lines, table, e)
		}
	}
	return lines
}

// note takes the line of a key, and those of an inline table's keys.
func note(p *unstable.Parser, lines map[string]int, table string, e *unstable.Node) {
	key, at := keyOf(e)
	full := strings.TrimPrefix(table+"."+key, ".")
	lines[full] = p.Shape(at).Start.Line
	if v := e.Value(); v.Kind == unstable.InlineTable {
		for it := v.Children(); it.Next(); {
			note(p, lines, full, it.Node())
		}
	}
}

// keyOf joins the parts of a key, and returns where the first stands.
func keyOf(e *unstable.Node) (string, unstable.Range) {
	var parts []string
	var at unstable.Range
	for it := e.Key(); it.Next(); {
		if parts == nil {
			at = it.Node().Raw
		}
		parts = append(parts, string(it.Node().Data))
	}
	return strings.Join(parts, "."), at
}

// numbered puts the number of the latest [[table]] behind its name: report.data is report.2.data after the third.
func numbered(key string, count map[string]int) string {
	first, rest, _ := strings.Cut(key, ".")
	if n := count[first]; n > 0 {
		return strings.TrimSuffix(fmt.Sprintf("%s.%d.%s", first, n-1, rest), ".")
	}
	return key
}
