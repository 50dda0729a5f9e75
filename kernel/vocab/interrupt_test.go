package vocab

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"regexp"
	"runtime/debug"
	"slices"
	"strings"
	"testing"
	"time"

	"wedgework/kernel/session"
	"wedgework/reports/measured"
	"wedgework/reports/require"
)

// twoStages is a stack whose points take long: two stages of two wedges make sixteen paths.
const twoStages = exampleStack + `
core = group(w1, gap(0.5*mm), r, gap(0.5*mm), w2)
two = stack(core, gap(1*mm), core.turned(-45*deg), beam=collimator(waist=200*um, working_distance=10*mm))
wide = sweep(1500*nm, 1600*nm, count=450)
hot = sweep(0*degC, 70*degC, count=440)
`

// longCalls are what a cell can wait for, each far longer than the test waits before it interrupts; setup runs before.
var longCalls = []struct{ name, setup, call string }{
	{"a grid", twoStages, "two.backward(wide, hot)"},
	{"light between two ports over a grid", twoStages, `two.between("1", "2", wide, hot)`},
	{"light between all ports, again and again", twoStages, "[two.port_matrix(1550*nm) for i in range(10000)]"},
	{"reflections, again and again", twoStages, `[two.reflections(1550*nm) for i in range(100000)]`},
	{"return loss over a grid", twoStages, "two.return_loss(wide, hot)"},
	{"the return loss of a response", twoStages + "b = two.backward(wide, sweep(0*degC, 70*degC, count=100))",
		"b.return_loss"},
	{"turning a part, again and again", twoStages, "[two.assemble(turn=\"wedge2\", at=1550*nm) for i in range(100)]"},
	{"verification", exampleStack + `d = measured("sweep", default="sweep.csv")`,
		`[verify(s, d, limits=limits(isolation=at_least(30*dB), over=sweep(1528*nm, 1565*nm, 1*nm)), ` +
			`uncertainty=budget(repeatability=0.05*dB), fit=["rotator1.angle", "wedge2.axis"]) for i in range(1000)]`},
	{"readings to take next", exampleStack + `d = measured("sweep", default="unit.csv")
v = verify(s, d, uncertainty=budget(repeatability=0.05*dB, temperature=0.5*kelvin), fit=["rotator1.angle", "rotator1.extinction", "rotator1.per_nm"])`,
		`[next_readings(v, "rotator1.angle", readings=200, wavelength=sweep(1536*nm, 1564*nm, count=200), ` +
			`temperature=sweep(0*degC, 60*degC, 4*kelvin)) for i in range(1000)]`},
	{"trials of turned units", twoStages + "a = two.assemble(turn=\"wedge2\", at=1550*nm)",
		`two.trials(100000, {"wedge1.axis": normal(0.3*deg)}, wavelength=wide, assemble=a)`},
	{"many trials",
		exampleStack, `[s.trials(200000, {"rotator1.angle": normal(0.3*deg), "wedge2.axis": normal(0.3*deg)}, ` +
			`wavelength=sweep(1530*nm, 1565*nm, 1*nm)) for i in range(100)]`},
	{"effects",
		exampleStack, `s.effects(100000, {"rotator1.angle": normal(0.3*deg), "wedge2.axis": normal(0.3*deg)}, ` +
			`wavelength=sweep(1530*nm, 1565*nm, 1*nm))`},
	{"yields",
		exampleStack, `s.tighten(200000, {"rotator1.angle": normal(0.3*deg), "wedge2.axis": normal(0.3*deg)}, ` +
			`limits=limits(isolation=at_least(30*dB), over=sweep(1530*nm, 1565*nm, 1*nm)))`},
	{"corners",
		twoStages, `two.corners({"wedge1.axis": normal(0.3*deg), "wedge2.axis": normal(0.3*deg), "wedge3.axis": ` +
			`normal(0.3*deg), "wedge4.axis": normal(0.3*deg), "wedge1.apex": normal(0.1*deg)}, wavelength=wide, ` +
			`temperature=hot)`},
	{"a search",
		twoStages, `[two.search(vary={"wedge2.axis": (60*deg, 75*deg)}, maximize=lambda t: t.backward(1550*nm).isolation) ` +
			`for i in range(1000)]`},
	{"a design against limits",
		twoStages, `[two.meets(limits(isolation=at_least(30*dB), return_loss=at_least(50*dB), over=wide, ` +
			`temperature=hot)) for i in range(1000)]`},
	{"a design against limits with its yield",
		twoStages, `[two.meets(limits(isolation=at_least(30*dB), over=wide), n=100000, tolerances={"wedge1.axis": ` +
			`normal(0.3*deg), "wedge2.axis": normal(0.3*deg)}) for i in range(1000)]`},
	{"pairs of parts", twoStages, `[pairing({"rotator1.angle": [(44 + i/1000.0)*deg for i in range(1500)]}, ` +
		`{"wedge2.axis": [(67 + i/1000.0)*deg for i in range(1500)]}, stack=two, ` +
		`limits=limits(isolation=at_least(30*dB), over=wide), uncertainty={"rotator1.angle": 0.1*deg, ` +
		`"wedge2.axis": 0.1*deg}) for i in range(100)]`},
	{"a search for compromises",
		twoStages, `[two.search(vary={"wedge2.axis": (60*deg, 75*deg)}, maximize=[lambda t: ` +
			`t.backward(1550*nm).isolation, lambda t: t.backward(1540*nm).isolation]) for i in range(1000)]`},
	{"a shortlist", twoStages, `designs(limits(isolation=at_least(30*dB), return_loss=at_least(50*dB), over=wide, ` +
		`temperature=hot), lambda n: two, n=[i for i in range(400)])`},
	{"a sum", "", "sum(range(1 << 24)) + sum(range(1 << 24)) + sum(range(1 << 24))"},
	{"a sum of quantities", "q = [1*nm]*(1 << 21)", "sum(q) + sum(q) + sum(q) + sum(q)"},
	{"the greatest by a function", "", "max([i for i in range(1 << 20)]*4, key=lambda x: -x)"},
	{"sorting", "q = [(i * 7919) % 1000003 * nm for i in range(1 << 20)]", "sorted(q)"},
	{"a coating of many layers", "c = coating(layers=[(1.38, 280*nm), (2.1, 180*nm)]*5000)",
		"c.reflects(1.45, sweep(1500*nm, 1600*nm, count=20000))"},
	{"drawing", twoStages, "[draw(two) for i in range(1000)]"},
	{"a plot of many points", "x = sweep(1500*nm, 1600*nm, count=200000)\ny = [(i + 1)*(x - 1550*nm) for i in " +
		"range(12)]",
		"plot(*y)"},
	{"the text of a long list", "q = [1.5*nm]*(1 << 20)", "[len(str(q)) for i in range(100)]"},
	{"readings of a large file", "", `measured("big", default="big.csv")`},
	{"a loop", "", "[i for i in range(1 << 24) for j in range(1 << 24)]"},
	{"a family of families", twoStages, `[two.over("wedge1.apex", sweep(3*deg, 8*deg, count=100)).over("gap1.length", ` +
		`sweep(1*mm, 2*mm, count=20)) for i in range(10000)]`},
	{"responses of a family", twoStages, `two.over("wedge1.apex", sweep(3*deg, 8*deg, count=100)).forward(wide)`},
	{"backward responses of a family", twoStages,
		`two.over("wedge1.apex", sweep(3*deg, 8*deg, count=100)).backward(wide).isolation`},
	{"return losses of a family", twoStages,
		`two.over("wedge1.apex", sweep(3*deg, 8*deg, count=100)).return_loss(wide)`},
	{"heated rods", hotParts,
		`[rod.heating(20*watt, waist=0.5*mm, radius=2*mm, wavelength=1064*nm) for i in range(1000000)]`},
	{"limits of power", hotParts, `[rod.power_limit(extinction=30*dB, waist=0.5*mm, radius=2*mm, wavelength=1064*nm) ` +
		`for i in range(1000000)]`},
	{"heated stacks", exampleStack, `[s.heated(0.5*watt, radius=0.5*mm) for i in range(1000000)]`},
	{"margins of magnets", hotParts, `[film.margin(70*degC) for i in range(1000000)]`},
	{"fields of magnets", hotParts, `[ring.field(1*mm, off_axis=0.3*mm) for i in range(10000000)]`},
	{"fits of series", "x = sweep(1500*nm, 1600*nm, count=20000)\ny = 2*(x - 1550*nm)",
		`[y.fit(5, about=1550*nm).coefficients for i in range(10000)]`},
	{"statistics of series", "x = sweep(1500*nm, 1600*nm, count=200000)\ny = 2*(x - 1550*nm)",
		`[(y.median(), y.percentile(90), y.deviation(), y.mean(), y.argmax()) for i in range(10000)]`},
	{"indices over a sweep", "c = crystal('YVO4')\nx = sweep(1500*nm, 1600*nm, count=200000)",
		`[(c.no(x), c.ne(x), c.birefringence(x), c.group_no(x)) for i in range(10000)]`},
	{"rotations over a sweep", "g = garnet('Bi:RIG')\nx = sweep(1500*nm, 1600*nm, count=200000)",
		`[g.specific_rotation(x) for i in range(10000)]`},
	{"a gauge study", "rows = [{'part': str(p), 'x': p + 0.1*k} for p in range(100) for k in range(100)]",
		`[gauge(rows, figure="x") for i in range(10000)]`},
	{"a check standard", "r = [(30 + 0.01*(i % 7))*dB for i in range(10000)]",
		`[check_standard(r, reference=30*dB, uncertainty=0.02*dB) for i in range(10000)]`},
	{"merged trials", exampleStack + `parts = [s.trials(1000, {"rotator1.angle": normal(0.3*deg)}, wavelength=1550*nm, ` +
		`shard=k, shards=2) for k in [1, 2]]`, `[merge(parts) for i in range(1000000)]`},
	{"data sheets", exampleStack + `t = s.trials(500, {"rotator1.angle": normal(0.3*deg)}, wavelength=1550*nm, ` +
		`limits=limits(isolation=at_least(30*dB), over=1550*nm))`, `[datasheet(t, title="a") for i in range(100000)]`},
	{"sample plans", "", `[sample_plan(ltpd=0.1*percent, lot=100000 + i) for i in range(100000)]`},
	{"lots", exampleStack + `d = measured("units", default="lot.csv")
v = verify(s, d, limits=limits(isolation=at_least(30*dB), over=1550*nm), uncertainty=budget(repeatability=0.05*dB))`,
		`[lot(v) for i in range(1000000)]`},
	{"tables", "q = [{'a': i*nm, 'b': i} for i in range(499)]", `[table(q) for i in range(100000)]`},
	{"texts", "q = 'a *b* $x^2$ ' * 5000", `[text(q) for i in range(100000)]`},
	{"explorations", twoStages,
		`[explore(lambda apex: s.backward(wide).isolation, apex=between(3*deg, 8*deg)) for i in range(100000)]`},
	{"panels of histograms",
		exampleStack + `t = s.trials(50000, {"rotator1.angle": normal(0.3*deg)}, wavelength=1550*nm)`,
		`[plot(panel(t.figures[0])) for i in range(10000)]`},
	{"percentiles", exampleStack + `t = s.trials(50000, {"rotator1.angle": normal(0.3*deg)}, wavelength=1550*nm)`,
		`[(t.figures[0].percentile(50), t.figures[0].percentile_interval(50)) for i in range(1000000)]`},
	{"repeatability and drift", `d = measured("sweep", default="sweep.csv")`,
		`[(d.column("isolation"), d.at(23*degC)) for i in range(1000000)]`},
	{"rows of a table", "", `[rows("films.csv") for i in range(100000)]`},
	{"records of reports", "", `[records("reports") for i in range(100000)]`},
}

// hotParts are a rotator that light heats, and one with a magnet.
const hotParts = `
rod = rotator(paramagnet("TGG"), length=18*mm, field=1.1*tesla)
ring = magnet(inner=0.75*mm, outer=1.5*mm, length=2*mm, remanence=-1.0*tesla, material="Sm2Co17")
film = rotator(garnet("Bi:RIG"), field=ring)
`

// atOnce are the words and methods that take no time beyond that of looking at their arguments, which are bounded
// (DEVELOPERS.md); TestWholeValues and TestWholeMethods give each the largest. A method stands without its owner.
const atOnce = `
abs acos among asin at_least at_most atan atan2 between budget clear_output coating collimator contribution cos
crystal decibels displacer display exp fibre format gap garnet given glass group halves help limits log log10 magnet
measured min mirror normal one_of paramagnet plate polarizer port pow power_ratio prior qualification
qualification_step report retarder rotator round save series sin sqrt stack sweep tan triangular truncated uniform
warn wedge turned walkoff group_ne mode_field_diameter coercivity against group_n n dgd_of drift repeatability repeats
source spread verdet shown_in to extinction_ratio rotation above argmin at below between max min named adjusted pair`

// TestEveryWordIsTried holds the vocabulary against the calls above, so that no word that computes is forgotten: a new
// one belongs into longCalls, or into atOnce where it takes no time.
func TestEveryWordIsTried(t *testing.T) {
	tried := map[string]bool{}
	for _, c := range longCalls {
		for _, name := range regexp.MustCompile(`\w+`).FindAllString(c.setup+" "+c.call, -1) {
			tried[name] = true
		}
	}
	quick := strings.Fields(atOnce)
	known := map[string]bool{}
	check := func(title string) {
		name := title[strings.LastIndex(title, ".")+1:]
		known[name] = true
		if !tried[name] && !slices.Contains(quick, name) {
			t.Errorf("%s is in no long call that is interrupted", title)
		}
	}
	for _, name := range Names() {
		if w := registry[name]; w != nil && w.Call != nil {
			check(name)
		}
	}
	for _, w := range Methods() {
		check(w.title())
	}
	for _, name := range quick {
		if !known[name] {
			t.Errorf("%s is no word or method any more", name)
		}
	}
}

// bigHost hands out a file of a million rows.
type bigHost struct {
	*fakeHost
	big []byte
}

func (h *bigHost) Input(ctx context.Context, name, path string) ([]measured.File, error) {
	if name == "big" {
		return []measured.File{measured.NewFile("big.csv", h.big)}, nil
	}
	return h.fakeHost.Input(ctx, name, path)
}

func bigFile() []byte {
	var b bytes.Buffer
	b.WriteString("wavelength [nm],temperature [degC],isolation [dB]\n")
	for i := range 1_000_000 {
		fmt.Fprintf(&b, "%.5f,23.0,%d.5\n", 1500+float64(i)*1e-4, 30+i%20)
	}
	return b.Bytes()
}

// mostWork is what a call may still work after an interruption, by the time of a processor: the machine may have other
// things to do. With the race detector all takes five to ten times as long.
const mostWork = 100 * time.Millisecond * slower

// uncollected keeps the collector of garbage out of a test until a few gigabytes are in use: it works beside the calls,
// on up to a gigabyte of values that the test holds, and its work would be counted with theirs.
func uncollected(t testing.TB) {
	percent, limit := debug.SetGCPercent(-1), debug.SetMemoryLimit(4<<30)
	t.Cleanup(func() {
		debug.SetGCPercent(percent)
		debug.SetMemoryLimit(limit)
	})
}

// interrupted runs a call and ends it after a while; it returns how long the call took to notice, and how much the
// process worked in that time.
func interrupted(t testing.TB, setup, call string) (took, work time.Duration) {
	t.Helper()
	h := &bigHost{newFakeHost(t), nil}
	if strings.Contains(call, "big") {
		h.big = bigFile()
	}
	s, err := session.New(Config(h))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Run(context.Background(), session.Cell{Name: "set-up", Source: setup}, nil); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	var at time.Time
	var before time.Duration
	time.AfterFunc(100*time.Millisecond, func() {
		at, before = time.Now(), worked()
		cancel()
	})
	_, err = s.Run(ctx, session.Cell{Name: "cell", Source: call}, nil)
	took, work = time.Since(at), worked()-before
	var failure *session.Error
	if !errors.As(err, &failure) || failure.Kind != session.Interrupted {
		t.Fatalf("got %v, want an interruption: the call is not long, or does not say that it was interrupted", err)
	}
	v, err := s.Run(context.Background(), session.Cell{Name: "next", Source: "1 + 1"}, nil)
	if err != nil || v.String() != "2" {
		t.Errorf("afterwards 1 + 1 is %v, %v", v, err)
	}
	return took, work
}

// TestInterrupt ends every long call soon: within mostWork.
func TestInterrupt(t *testing.T) {
	uncollected(t)
	for i := 0; i < len(longCalls); i += require.Sample(2, 1) {
		c := longCalls[i]
		t.Run(c.name, func(t *testing.T) {
			var took, work time.Duration
			for range 3 { // a collection that had begun may end beside the call
				if took, work = interrupted(t, c.setup, c.call); work <= mostWork && took <= 10*mostWork {
					t.Logf("noticed after %v, %v of work", took, work)
					return
				}
			}
			t.Errorf("went on for %v, %v of work", took, work)
		})
	}
}

func BenchmarkInterrupt(b *testing.B) {
	for _, c := range longCalls {
		b.Run(strings.ReplaceAll(c.name, " ", "-"), func(b *testing.B) {
			var all []time.Duration
			for b.Loop() {
				took, _ := interrupted(b, c.setup, c.call)
				all = append(all, took)
			}
			slices.Sort(all)
			b.ReportMetric(float64(all[len(all)/2].Microseconds())/1000, "ms-to-notice")
			b.ReportMetric(0, "ns/op")
		})
	}
}
