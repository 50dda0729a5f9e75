package index

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"wedgework/reports/require"
	"wedgework/reports/require/chromium"
)

// screen is a page in Chromium with an index in it.
type screen struct{ chromium.Page }

func opened(t *testing.T) screen { return screen{chromium.Open(t, 1300, 1000)} }

func (s screen) open(x *Index) {
	s.Helper()
	page, err := x.Page()
	if err != nil {
		s.Fatal(err)
	}
	s.ShowFile(PageName, page)
}

// fill puts a value into a field and tells the page, and returns for how long the page was at work with it,
// milliseconds.
func (s screen) fill(id, value string) float64 {
	s.Helper()
	return chromium.Do(s.Page, "fill "+id, chromedp.Evaluate[float64](fmt.Sprintf(`(() => {
		const e = document.getElementById(%q), t = performance.now();
		e.value = %q;
		e.dispatchEvent(new Event("input", {bubbles: true}));
		document.body.offsetHeight;
		return performance.now() - t;
	})()`, id, value)))
}

const (
	counted = `document.getElementById("count").textContent`
	first   = `document.querySelector("#row-0").innerText.split("\n").slice(0, 2).join()`
	chosen  = `document.getElementById("table").getAttribute("aria-activedescendant")`
)

// TestBrowserIndex: 20,000 units (2,000 where not everything is required) are searched, sorted and filtered, by
// keyboard alone, and what is shown is what the rows say.
func TestBrowserIndex(t *testing.T) {
	n := require.Sample(2000, 20000)
	rows := many(n)
	rows = append(rows, Row{Report: "x/gone.pdf", State: Failed, Says: "the file is empty"})
	x := &Index{Program: "wedgework 1", Planned: true, Rows: rows, Series: Histories(rows), Changed: "2026-11-30 21:00",
		Changes: []Change{{"3/00301.pdf", "00301", "fail, was pass"}}, Problems: []Problem{{"x/cut.json",
			"not a record"}}}
	fails, ofLot, byBench := 0, 0, 0
	for _, r := range rows {
		if r.Verdict == "fail" {
			fails++
		}
		if r.Lot == "25-007" {
			ofLot++
		}
		if r.Bench == "bench 2" && r.Verdict == "fail" {
			byBench++
		}
	}
	all := fmt.Sprintf("%d rows", n+1)
	s := opened(t)
	s.open(x)
	s.Want("all", counted, all)
	s.Want("rows in the page", `document.querySelectorAll(".row").length < 100`, "true")
	s.Shot("index-all")
	longest := 0.0
	for _, c := range []struct {
		id, value string
		want      int
	}{{"verdict", "fail", fails}, {"bench", "bench 2", byBench}, {"search", "no such unit", 0}} {
		longest = max(longest, s.fill(c.id, c.value))
		s.Want(c.id, counted, fmt.Sprintf("%d of %s", c.want, all))
	}
	chromium.Do(s.Page, "reset", chromedp.Evaluate[bool](`document.getElementById("reset").click(), true`))
	chromium.Do(s.Page, "wait", chromedp.Sleep(50*time.Millisecond))
	s.Want("reset", counted, all)
	longest = max(longest, s.fill("lot", "25-007"))
	s.Want("lot", counted, fmt.Sprintf("%d of %s", ofLot, all))
	s.Want("first of the lot", first, "00700,25-007")
	s.fill("lot", "\x00")
	longest = max(longest, s.fill("search", "01234 25-012"))
	s.Want("search", first, "01234,25-012")
	s.fill("search", "")
	s.fill("from", "2025-01-03")
	s.fill("to", "2025-01-03") // 1440 minutes of a day, one unit in 50: the 29th (23:20 before) to the 57th
	s.Want("of one day", counted, "29 of "+all)
	s.fill("from", "")
	s.fill("to", "")
	sorting := chromium.Do(s.Page, "sort", chromedp.Evaluate[float64](`(() => {
		const t = performance.now();
		[...document.querySelectorAll("#head button")].find(b => b.textContent == "Least margin").click();
		document.body.offsetHeight;
		return performance.now() - t;
	})()`))
	least := rows[0]
	for _, r := range rows {
		if v := r.tightest(); v != nil && v.Margin.Float() < least.tightest().Margin.Float() {
			least = r
		}
	}
	s.Want("least margin", first, least.Unit+","+least.Lot)
	t.Logf("filter and search of %d rows: at most %.0f ms; sorting: %.0f ms", n, longest, sorting)

	// By keys: "/" searches, Tab leads on to the table, arrows move in it.
	chromium.Do(s.Page, "top", chromedp.Evaluate[bool](`document.activeElement.blur(), true`))
	chromium.Do(s.Page, "slash", chromedp.KeyEvent("/"))
	s.Want("slash", `document.activeElement.id`, "search")
	for range 20 {
		if s.Text(`document.activeElement.id`) == "table" {
			break
		}
		chromium.Do(s.Page, "tab", chromedp.KeyEvent(kb.Tab))
	}
	s.Want("tab", `document.activeElement.id`, "table")
	for _, k := range []string{kb.End, kb.ArrowUp} {
		chromium.Do(s.Page, "key", chromedp.KeyEvent(k))
	}
	s.Want("the last but one", chosen, fmt.Sprint("row-", n-1))
	s.Want("is in sight",
		`(() => { const r = document.getElementById("row-`+fmt.Sprint(n-1)+`").getBoundingClientRect(),
		t = document.getElementById("table").getBoundingClientRect();
		return r.top >= t.top && r.bottom <= t.bottom + 1; })()`, "true")
	chromium.Do(s.Page, "key", chromedp.KeyEvent(kb.Home))
	s.Want("the first", chosen, "row-0")
	s.Want("link", `document.querySelector("#row-0 a").getAttribute("href")`, least.Report)

	// The chart is read by keys.
	chromium.Do(s.Page, "chart", chromedp.Evaluate[bool](`(() => { const e = document.getElementById("series");
		e.selectedIndex = 1; e.dispatchEvent(new Event("change")); document.getElementById("chart").focus();
		return true; })()`))
	chromium.Do(s.Page, "key", chromedp.KeyEvent(kb.Home))
	if got := s.Text(`document.getElementById("point").textContent`); !strings.HasPrefix(got, fmt.Sprintf("1 of %d: ",
		n)) ||
		!strings.Contains(got, "unit 00000, lot 25-000") {
		t.Errorf("the first point reads %q", got)
	}
	if got := s.Text(`document.getElementById("found").textContent`); !strings.Contains(got, "The mean steps from") {
		t.Errorf("of the step the page says %q", got)
	}
	s.Shot("index-angle")
}

// TestBrowserPhone: on a narrow screen, and in the dark, nothing has to be moved sideways, and hostile texts show and
// do nothing: the page asks for nothing and runs nothing.
func TestBrowserPhone(t *testing.T) {
	s := opened(t)
	rows := many(300)
	payload := `"><script>window.hacked = 1</script><img src="https://example.org/x.png" onerror="window.hacked = 1">`
	for i := range rows[:20] {
		rows[i].Unit, rows[i].Lot, rows[i].Says, rows[i].Number = payload, payload, payload, ""
		rows[i].Report = "javascript:window.hacked=1//.pdf"
	}
	x := &Index{Program: payload, Rows: rows, Series: Histories(rows), Changed: payload,
		Changes: []Change{{payload, payload, payload}}, Problems: []Problem{{payload, payload}}}
	chromium.Do(s.Page, "size", chromedp.EmulateViewport(360, 740, chromedp.EmulateScale(2)))
	chromium.Call(s.Page, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{
		{Name: "prefers-color-scheme", Value: "dark"}}})
	s.open(x)
	s.Shot("index-phone")
	s.Want("sideways", `document.documentElement.scrollWidth <= innerWidth`, "true")
	s.Want("dark", `getComputedStyle(document.body).backgroundColor`, "rgb(26, 26, 26)")
	s.Want("unit", `document.querySelector("#row-0").firstChild.textContent`, payload)
	chromium.Do(s.Page, "click", chromedp.Evaluate[bool](`document.querySelector("#row-0 a").click(), true`))
	chromium.Do(s.Page, "wait", chromedp.Sleep(200*time.Millisecond))
	s.Want("hacked", `typeof window.hacked`, "undefined")
	s.open(x)
	s.Want("requests", `performance.getEntriesByType("resource").filter(e => !e.name.startsWith("data:")).length`, "0")
}
