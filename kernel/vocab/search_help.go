package vocab

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"wedgework/kernel/topics"
	"wedgework/reports/nearest"
)

// alsoSaid are words that people search for, and what the vocabulary says for them.
var alsoSaid = map[string]string{
	"export": "report", "write": "report", "pdf": "report", "import": "measured", "read": "measured",
	"csv": "measured", "file": "measured", "data": "measured", "graph": "plot", "chart": "plot",
	"attenuation": "insertion_loss", "loss": "insertion_loss", "reflection": "return_loss", "pmd": "dgd",
	"delay": "dgd", "montecarlo": "trials", "yield": "trials", "optimise": "search", "optimize": "search",
	"minimise": "search", "minimize": "search", "specification": "limits", "spec": "limits", "tolerance": "normal",
	"faraday": "rotator", "lens": "collimator", "birefringence": "crystal", "ring": "magnet",
	"error": "budget", "uncertainty": "budget", "accuracy": "budget", "slider": "explore", "setting": "given",
	"batch": "lot", "statistics": "lot", "angle": "deg", "crosstalk": "extinction_ratio", "pm": "extinction_ratio",
}

// SearchHelp lists the words, methods, figures, units and topics that speak of all words of a text, best first; ok is
// false when there are none, and when the text is rather a name that is misspelt.
func SearchHelp(text string) (list string, ok bool) {
	all := search(text)
	if len(all) > 0 && all[0].score < 3 && !strings.Contains(text, " ") && nearest.To(text, Titles()) != "" {
		return "", false
	}
	return found(text, all), len(all) > 0
}

// searched is a name of the vocabulary that a search found.
type searched struct {
	title, summary string
	score          int
}

// search looks for words, methods, figures, units and topics that speak of all words of a query, best first.
func search(query string) []searched {
	asked := strings.Fields(strings.ToLower(strings.ReplaceAll(query, "_", " ")))
	if len(asked) == 0 || len(query) > mostQuery {
		return nil
	}
	var all []searched
	consider := func(title, summary string, more ...string) {
		total := 0
		for _, a := range asked {
			best := 0
			for _, w := range append([]string{a}, strings.Fields(strings.ReplaceAll(alsoSaid[a], "_", " "))...) {
				best = max(best, score(w, title, summary, more))
			}
			if best == 0 {
				return
			}
			total += best
		}
		all = append(all, searched{title, summary, total})
	}
	explain := func(w *Word) {
		more := []string{w.Returns, w.Detail, w.Source}
		for _, p := range w.Params {
			more = append(more, p.Name, p.Doc)
		}
		consider(w.title(), w.Summary, more...)
	}
	fields := func(typ string) {
		for _, a := range types[typ].outline(typ).Attributes {
			if a.Call == nil {
				consider(typ+"."+a.Name, a.Summary)
			}
		}
	}
	fields("response") // of entries that speak of a query alike, the figures of a stack come first
	for _, name := range Names() {
		explain(Lookup(name))
	}
	for _, w := range Methods() {
		explain(w)
	}
	for _, typ := range slices.Sorted(maps.Keys(types)) {
		if typ != "response" && !strings.Contains(typ, " ") {
			fields(typ)
		}
	}
	for _, t := range topics.All() {
		consider(t.Name, t.Summary, t.Text)
	}
	slices.SortStableFunc(all, func(a, b searched) int { return b.score - a.score })
	return all[:min(len(all), mostFound)]
}

const (
	mostQuery = 200 // bytes
	mostFound = 12
)

// score is how much an entry speaks of a word: 4 if it is its name, 3 in its name, 2 in its line, 1 elsewhere, 0
// nowhere. A word counts where another begins with it, so that "isolat" finds isolation.
func score(word, title, summary string, more []string) int {
	begins := func(text string) bool {
		for w := range strings.FieldsFuncSeq(strings.ToLower(text), func(r rune) bool {
			return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9')
		}) {
			if strings.HasPrefix(w, word) {
				return true
			}
		}
		return false
	}
	switch {
	case strings.EqualFold(title, word):
		return 4
	case begins(title):
		return 3
	case begins(summary):
		return 2
	case slices.ContainsFunc(more, begins):
		return 1
	}
	return 0
}

// found writes what a search found as help shows it.
func found(query string, all []searched) string {
	var b strings.Builder
	fmt.Fprintf(&b, "nothing is named %q; these speak of it:\n\n", shorten(query))
	for _, s := range all {
		fmt.Fprintf(&b, "    %-28s %s\n", s.title, s.summary)
	}
	return b.String()
}
