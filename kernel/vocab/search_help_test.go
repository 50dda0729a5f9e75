package vocab

import (
	"strings"
	"testing"
)

// TestSearchHelp asks as people ask, by what they want and not by name; each is to be among the first four
// that are found.
func TestSearchHelp(t *testing.T) {
	for query, want := range map[string]string{
		"isolation":          "response.isolation",
		"extinction ratio":   "rotator.extinction_ratio",
		"export":             "report",
		"loss":               "response.insertion_loss",
		"return loss":        "stack.return_loss",
		"least squares":      "series.fit",
		"wavelength grid":    "sweep",
		"tolerance":          "normal",
		"yield":              "trials.good",
		"group delay":        "response.dgd",
		"Faraday":            "rotator",
		"standard deviation": "series.deviation",
		"dependent loss":     "response.pdl",
		"read csv":           "measured",
	} {
		all := search(query)
		var titles []string
		for _, f := range all {
			titles = append(titles, f.title)
		}
		at := strings.Join(titles[:min(len(titles), 4)], " ")
		if !strings.Contains(" "+at+" ", " "+want+" ") {
			t.Errorf("%s: found %v, want %s among the first", query, titles, want)
		}
	}
	for query, want := range map[string]string{"isolation": "response.isolation", "loss": "response.insertion_loss",
		"export": "report", "extinction ratio": "response.extinction_ratio", "return loss": "response.return_loss",
		"least squares": "series.fit", "yield": "stack.trials", "group delay": "response.dgd"} {
		if all := search(query); len(all) == 0 || all[0].title != want {
			t.Errorf("%s: found %v first, want %s", query, all, want)
		}
	}
	if _, ok := SearchHelp(strings.Repeat("a ", 1<<20)); ok {
		t.Error("a query of a megabyte found something")
	}
	if text, ok := SearchHelp("qqqq"); ok {
		t.Errorf("found %s", text)
	}
}
