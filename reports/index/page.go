package index

import (
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
	"sync"

	"wedgework/reports/document"
	"wedgework/reports/lot"
)

var (
	//go:embed index.css
	style string
	//go:embed index.js
	script string
	//go:embed body.html
	body string
)

// generator is what a page of an index is told by.
const generator = `<meta name="generator" content="wedgework index">`

// stands says in the head of a page to which states of reports it belongs, plan by plan.
func stands(standings ...string) string {
	var b strings.Builder
	for _, s := range standings {
		b.WriteString(`<meta name="standing" content="` + s + `">`)
	}
	return b.String()
}

// policy allows our script and style by their hashes, and nothing else.
var policy = sync.OnceValue(func() string {
	hash := func(text string) string {
		sum := sha256.Sum256([]byte(text))
		return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
	}
	return "default-src 'none'; img-src data:; style-src " + hash(style) + "; script-src " + hash(script) +
		"; base-uri 'none'; form-action 'none'"
})

// Page returns the index as one page of HTML that needs nothing else.
func (x *Index) Page() ([]byte, error) {
	data, err := json.Marshal(x.shown()) // escapes <, > and &
	if err != nil {
		return nil, fmt.Errorf("index: %w", err)
	}
	var b strings.Builder
	fmt.Fprintf(&b, "<!DOCTYPE html>\n<html lang=\"en-GB\">\n<head>\n<meta charset=\"utf-8\">\n"+
		"<meta http-equiv=\"Content-Security-Policy\" content=\"%s\">\n"+
		"<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"+
		"<meta name=\"referrer\" content=\"no-referrer\">\n<meta name=\"color-scheme\" content=\"light dark\">\n%s\n%s\n"+
		"<link rel=\"icon\" href=\"data:,\">\n<title>Reports</title>\n<style>%s</style>\n</head>\n", policy(),
		generator, stands(x.standings...), style)
	b.WriteString(body)
	fmt.Fprintf(&b, "<footer>Written by %s</footer>\n", document.Escape(x.Program))
	fmt.Fprintf(&b,
		"<script type=\"application/json\" id=\"data\">%s</script>\n<script>%s</script>\n</body>\n</html>\n",
		data, script)
	return seal([]byte(b.String())), nil
}

// shown is what the script gets. Texts that come again and again are numbers of a list.
type shown struct {
	Planned  bool          `json:"planned"`
	Texts    []string      `json:"texts"`
	Rows     [][]any       `json:"rows"`
	Series   []shownSeries `json:"series"`
	Changes  [][3]string   `json:"changes"`
	Changed  string        `json:"changed"`
	Problems [][2]string   `json:"problems"`
}

type shownSeries struct {
	Kind      string       `json:"kind"`
	Name      string       `json:"name"`
	At        string       `json:"at"`
	Unit      string       `json:"unit"`
	Rule      string       `json:"rule"`
	Limit     string       `json:"limit"`
	Tolerance string       `json:"tolerance"`
	Decimals  int          `json:"decimals"`
	Bounds    int          `json:"bounds"`
	Rows      []int        `json:"rows"`
	Values    []rounded    `json:"values"`
	All       shownOf      `json:"all"`
	Lots      []shownOfLot `json:"lots"`
}

type shownOf struct {
	N       int         `json:"n"`
	Mean    *rounded    `json:"mean"`
	S       *rounded    `json:"s"`
	Lower   *rounded    `json:"lower"`
	Upper   *rounded    `json:"upper"`
	Trial   bool        `json:"trial"`
	Signals []int       `json:"signals"` // values that a rule of the chart sees
	Rules   string      `json:"rules"`   // how many signals of each rule
	Cpk     *rounded    `json:"cpk"`
	Low     *rounded    `json:"low"`
	High    *rounded    `json:"high"`
	Least   *rounded    `json:"least"`
	Stable  bool        `json:"stable"`
	Steps   [][]rounded `json:"steps"` // place, mean before, after, p
}

type shownOfLot struct {
	Lot string `json:"lot"`
	Of  []int  `json:"of"`
	shownOf
}

// rounded is a number of six digits, which is more than a screen shows.
type rounded float64

func (r rounded) MarshalJSON() ([]byte, error) {
	return strconv.AppendFloat(nil, float64(r), 'g', 6, 64), nil
}

// finite is a number, nil where there is none.
func finite(v float64) *rounded {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	r := rounded(v)
	return &r
}

// texts numbers texts.
type texts struct {
	all []string
	of  map[string]int
}

func (t *texts) number(s string) int {
	n, ok := t.of[s]
	if !ok {
		n = len(t.all)
		t.of[s], t.all = n, append(t.all, s)
	}
	return n
}

func (x *Index) shown() shown {
	t := texts{of: map[string]int{}}
	s := shown{Planned: x.Planned, Changed: x.Changed, Rows: make([][]any, len(x.Rows)), Series: []shownSeries{},
		Changes: [][3]string{}, Problems: [][2]string{}}
	for i := range x.Rows {
		r := &x.Rows[i]
		margin, of := "", ""
		if v := r.tightest(); v != nil {
			margin, of = string(v.Margin), strings.TrimSuffix(v.said()+", "+v.At, ", ")+"\x00"+v.Unit
		}
		day := ""
		if at, ok := lot.ParseWhen(r.Measured); ok {
			day = at.Format("2006-01-02")
		}
		s.Rows[i] = []any{r.Report, r.called(), t.number(r.Lot), t.number(r.Bench), t.number(day), t.number(r.Verdict),
			t.number(string(r.State)), margin, t.number(of), r.Number, t.number(strings.Join(r.Causes, ", ")),
			t.number(r.Says), t.number(r.Title), t.number(r.Part), t.number(r.Measured), t.number(r.Chain.said())}
	}
	s.Texts = t.all
	for i := range x.Series {
		s.Series = append(s.Series, x.Series[i].shown())
	}
	for _, c := range x.Changes {
		s.Changes = append(s.Changes, [3]string{c.Report, c.Unit, c.What})
	}
	for _, p := range x.Problems {
		s.Problems = append(s.Problems, [2]string{p.Path, p.Says})
	}
	return s
}

func (s *Series) shown() shownSeries {
	named := Value{Kind: s.Kind, Name: s.Name}
	o := shownSeries{Kind: s.Kind, Name: named.said(), At: joined(s.At, s.Condition), Unit: s.Unit, Rule: s.Rule,
		Limit: s.Limit.Text(), Tolerance: s.Tolerance.Text(), Decimals: s.Decimals, Bounds: s.Bounds, Rows: s.Rows,
		All: s.All.shown(), Lots: []shownOfLot{}, Values: make([]rounded, len(s.Values))}
	for i, v := range s.Values {
		o.Values[i] = rounded(v)
	}
	for i := range s.Lots {
		o.Lots = append(o.Lots, shownOfLot{s.Lots[i].Lot, s.Lots[i].Of, s.Lots[i].Statistics.shown()})
	}
	return o
}

func (t *Statistics) shown() shownOf {
	o := shownOf{N: t.N, Mean: finite(t.Mean), S: finite(t.Deviation), Stable: t.Stable(), Signals: []int{},
		Steps: [][]rounded{}}
	if c := t.Chart; c != nil {
		o.Lower, o.Upper, o.Trial = finite(c.Lower), finite(c.Upper), c.Trial
		o.Signals, o.Rules = signals(c)
	}
	if a := t.Able; a != nil {
		o.Cpk, o.Low, o.High, o.Least = finite(a.Cpk), finite(a.Low), finite(a.High), finite(a.Least)
	}
	for _, s := range t.Steps {
		o.Steps = append(o.Steps, []rounded{rounded(s.At), rounded(s.Before), rounded(s.After), rounded(s.PValue)})
	}
	return o
}

// signals lists the values that the rules of a chart see, and counts the signals of each.
func signals(c *lot.Chart) (at []int, counted string) {
	at = []int{}
	seen := map[int]bool{}
	var count [4]int
	for _, s := range c.Signals {
		if s.Range {
			count[0]++
			continue
		}
		count[s.Rule]++
		for _, i := range s.Values {
			if !seen[i] {
				seen[i] = true
				at = append(at, i)
			}
		}
	}
	var parts []string
	for rule, words := range []string{"moving ranges beyond their limit", "values beyond a control limit",
		"runs on one side of the centre line", "runs in one direction"} {
		if count[rule] > 0 {
			parts = append(parts, fmt.Sprintf("%s: %d", words, count[rule]))
		}
	}
	return at, strings.Join(parts, "; ")
}
