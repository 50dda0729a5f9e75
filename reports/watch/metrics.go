package watch

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"strconv"
	"strings"
	"time"

	"wedgework/reports/files"
	"wedgework/reports/fileset"
)

// Metrics is what a monitoring system is told of a run.
type Metrics struct {
	Plan       string
	Passing    int // reports of which every verdict passes
	NotPassing int
	NotMade    int
	Made       int       // in this run
	Ended      time.Time // of the run
	Took       time.Duration
	Waiting    time.Time // when the oldest input came whose report could not be made; zero for none
}

// lastSuccess is the name under which it stands when a run last made every report.
const lastSuccess = "wedgework_last_success_timestamp_seconds"

// Write writes the metrics in the text format of Prometheus, whole. When a run last succeeded is taken over from the
// file that stands there.
func (m *Metrics) Write(path string) error {
	old, err := files.ReadUpTo(path, 1<<20)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return fileset.Replace([]fileset.File{{Path: path, Data: m.text(old)}})
}

func (m *Metrics) text(old []byte) []byte {
	plan := `plan="` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", `\n`).Replace(m.Plan) + `"`
	var b bytes.Buffer
	family := func(name, help string) { fmt.Fprintf(&b, "# HELP %s %s\n# TYPE %[1]s gauge\n", name, help) }
	one := func(name, help, value string) {
		family(name, help)
		fmt.Fprintf(&b, "%s{%s} %s\n", name, plan, value)
	}
	family("wedgework_reports", "Reports of the plan by what became of them.")
	for _, s := range []struct {
		state string
		n     int
	}{{"passing", m.Passing}, {"not_passing", m.NotPassing}, {"not_made", m.NotMade}} {
		fmt.Fprintf(&b, "wedgework_reports{%s,state=%q} %d\n", plan, s.state, s.n)
	}
	one("wedgework_made", "Reports made in the last run.", strconv.Itoa(m.Made))
	one("wedgework_last_run_timestamp_seconds", "End of the last run.", seconds(m.Ended))
	one("wedgework_run_seconds", "Duration of the last run.", strconv.FormatFloat(m.Took.Seconds(), 'f', 3, 64))
	success := before(old, lastSuccess+"{"+plan+"} ")
	if m.NotMade == 0 {
		success = seconds(m.Ended)
	}
	if success != "" {
		one(lastSuccess, "End of the last run in which every report was up to date or made.", success)
	}
	if !m.Waiting.IsZero() {
		one("wedgework_oldest_waiting_timestamp_seconds", "Time of the oldest input whose report could not be made.",
			seconds(m.Waiting))
	}
	return b.Bytes()
}

func seconds(t time.Time) string { return strconv.FormatFloat(float64(t.UnixMilli())/1000, 'f', 3, 64) }

// before returns the value that a file had for a metric; "" for none, or what is no number.
func before(old []byte, begin string) string {
	lines := bufio.NewScanner(bytes.NewReader(old))
	for lines.Scan() {
		if value, ok := strings.CutPrefix(lines.Text(), begin); ok {
			if _, err := strconv.ParseFloat(value, 64); err == nil {
				return value
			}
		}
	}
	return ""
}
