package vocab

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/document"
)

// fieldDoc documents a field of a type of values.
type fieldDoc struct {
	name    string
	summary string
	gives   string // its type; of a figure that is a quantity at a point, a series over a sweep
	held    bool   // reading it computes nothing
}

// overConditions is the type of a field that depends on the conditions it was asked for.
const overConditions = "series"

// outlines are the fields of the values of the vocabulary by type; methods document themselves. A test holds them
// against the values that the examples of the words make.
var outlines = map[string][]fieldDoc{
	"quantity": {
		{"value", "the plain number, in the unit it is written in", "float", true},
		{"unit", "the unit it is written in", "unit", true},
	},
	"unit": nil,
	"sweep": {
		{"start", "the first value", "quantity", true},
		{"stop", "the last value", "quantity", true},
		{"unit", "the unit of the values", "unit", true},
		{"values", "the values as plain numbers in .unit", "list", false},
	},
	"series": {
		{"axis", "the sweep that the values belong to", "sweep", true},
		{"axes", "the axes, one or two of them", "tuple", true},
		{"unit", "the unit of the values", "unit", true},
		{"label", "the name that plots and tables show", "string", true},
		{"values", "the values as plain numbers in .unit; of a grid row after row", "list", false},
	},
	"crystal":    materialFields,
	"glass":      materialFields,
	"paramagnet": materialFields,
	"garnet":     materialFields,
	"magnet":     nil,
	"fibre":      nil,
	"coating":    {{"reflectance", "the residual reflectance", "quantity", true}},
	"wedge":      elementFields,
	"plate":      elementFields,
	"displacer":  elementFields,
	"retarder":   elementFields,
	"rotator": slices.Concat(elementFields, []fieldDoc{
		{"per_kelvin", "change of |rotation| of a 45 deg film with temperature", "quantity", true},
		{"per_nm", "change of |rotation| of a 45 deg film with vacuum wavelength", "quantity", true},
	}),
	"polarizer":  elementFields,
	"gap":        elementFields,
	"group":      nil,
	"collimator": nil,
	"stack": {
		{"elements", "the parts, in the order forward light meets them", "tuple", true},
		{"beam", "the pair of collimators", "collimator", true},
		{"parameters", "every adjustable number, by its path \"element.parameter\"", "dict", true},
		{"cautions", "what the model says against this stack", "tuple", false},
	},
	"response":          slices.Concat(responseFields, forwardFields, backwardFields),
	"forward response":  slices.Concat(responseFields, forwardFields),
	"backward response": slices.Concat(responseFields, backwardFields),
	"path": {
		{"label", "the kinds of ray, part by part", "string", true},
		{"power", "the loss with which the receiver collects it, dB", "quantity", true},
		{"sent", "the loss with which it arrives at the receiver, dB", "quantity", true},
		{"offset", "x and y of its chief ray against the receiver's axis, um", "tuple", true},
		{"tilt", "x and y of its direction against the receiver's axis, mrad", "tuple", true},
		{"delay", "the time after the first path, ps", "quantity", true},
	},
	"assembly": {
		{"stack", "the stack as assembled", "stack", true},
		{"turn", "how far the part was turned, from +x towards +y", "quantity", true},
		{"before", "the figure before, dB", "quantity", true},
		{"after", "the figure at its peak, dB", "quantity", true},
		{"cost", "the insertion loss that it costs, dB", "quantity", true},
	},
	"trials": {
		{"count", "how many units were drawn", "int", true},
		{"sentence", "how many of them keep every limit", "string", true},
		{"good", "the share that keeps every limit; None without limits", "float", true},
		{"good_low", "the lower end of its 95 % interval", "float", true},
		{"good_high", "the upper end of its 95 % interval", "float", true},
		{"figures", "each figure over the units", "tuple", true},
	},
	"distribution": {
		{"name", "the figure", "string", true},
		{"condition", "the wavelengths and temperatures it is the worst over", "string", true},
		{"nominal", "its value for the stack itself", "quantity", true},
		{"mean", "the mean over the units", "quantity", true},
		{"deviation", "the standard deviation over the units", "quantity", true},
		{"least", "the least value", "quantity", true},
		{"greatest", "the greatest value", "quantity", true},
		{"good", "the share that keeps its limit; None without one", "float", true},
		{"shares", "the share of its variance that goes with each tolerance, by path; None of fewer than 50 units", "dict", true},
	},
	"corners": {
		{"count", "how many corners there are", "int", true},
		{"figures", "each figure at its worst", "tuple", true},
		{"keeps_limits", "whether the worst keeps every limit; None without limits", "bool", true},
	},
	"corner": {
		{"name", "the figure", "string", true},
		{"condition", "the wavelengths and temperatures it is the worst over", "string", true},
		{"nominal", "its value for the stack itself", "quantity", true},
		{"worst", "its worst value", "quantity", true},
		{"at", "the parameters there, by path", "dict", true},
		{"keeps_limit", "whether the worst keeps the limit; None without one", "bool", true},
	},
	"found": {
		{"stack", "the stack with the parameters found", "stack", true},
		{"at", "the parameters found, by path", "dict", true},
		{"value", "what maximize gives there", "quantity", true},
		{"before", "what maximize gave for the stack as it was", "quantity", true},
		{"keeps_limits", "whether subject_to is kept; None without it", "bool", true},
		{"evaluations", "how many stacks were evaluated", "int", true},
	},
	"tolerance": {
		{"shape", "normal or uniform", "string", true},
		{"value", "the standard deviation or the half-width", "quantity", true},
	},
	"bound":        {{"value", "the bound", "quantity", true}},
	"limits":       nil,
	"contribution": nil,
	"budget":       nil,
	"measured": {
		{"isolation", "the isolation read, dB", overConditions, false},
		{"insertion_loss", "the insertion loss read, dB", overConditions, false},
		{"pdl", "the polarization-dependent loss read, dB", overConditions, false},
		{"dgd", "the differential group delay read, ps", overConditions, false},
		{"return_loss", "the return loss read, dB", overConditions, false},
		{"isolation_mean", "the isolation read, mean over polarization, dB", overConditions, false},
		{"insertion_loss_min", "the insertion loss of the best state of polarization, dB", overConditions, false},
		{"insertion_loss_max", "the insertion loss of the worst state of polarization, dB", overConditions, false},
		{"pdl_backward", "the polarization-dependent loss read backward, dB", overConditions, false},
		{"dgd_backward", "the differential group delay read backward, ps", overConditions, false},
		{"columns", "the heads of the columns, as the file spells them", "tuple", false},
		{"warnings", "what a reader of the figures should know, a sentence each", "tuple", false},
		{"remarks", "the comment lines that are no metadata", "tuple", false},
		{"files", "the names of all files that the rows came from", "tuple", false},
		{"sheet", "the sheet of a workbook", "string", true},
		{"unit", "the unit that was measured, as the file says", "string", true},
		{"lot", "its lot, as the file says", "string", true},
		{"file", "the name of the file", "string", true},
		{"sha256", "the SHA-256 of the file", "string", true},
		{"rows", "how many rows the file has", "int", true},
		{"polarization", "how the source was polarized, as the file says", "string", true},
		{"temperatures", "the temperatures of the runs, degC", "tuple", false},
		{"meta", "what the head of the file says, key by key", "dict", false},
	},
	"verification": {
		{"agreement", "does the model agree with the readings", "verdict", true},
		{"conformity", "does the unit conform to its limits", "verdict", true},
		{"quality", "can the data tell", "verdict", true},
		{"passes", "whether all verdicts are a pass", "bool", true},
		{"fitted", "the parameters that the diagnosis adjusted, by path", "dict", true},
		{"diagnosis", "what explains the readings, in a sentence", "string", true},
		{"causes", "the causes that cannot be told apart", "tuple", true},
		{"outliers", "the lines of the file whose readings the fit left out", "list", true},
		{"cautions", "what speaks against the verdicts", "tuple", true},
		{"limits", "the limits, each with the figure that was held against it", "tuple", true},
		{"unit", "the unit that was measured", "string", true},
		{"lot", "its lot", "string", true},
		{"file", "the file of the readings", "string", true},
	},
	"decision": {
		{"figure", "what was held against the limit", "string", true},
		{"condition", "the limit's band and temperatures", "string", true},
		{"limit", "the bound", "quantity", true},
		{"guard", "the guard factor of its rule; 0 is simple acceptance", "float", true},
		{"outcome", "pass, fail or undecided", "string", true},
		{"measured", "the figure", "quantity", true},
		{"low", "the lower end of its coverage interval", "quantity", true},
		{"high", "the upper end; None where the leak may be none at all", "quantity", true},
		{"uncertainty", "its expanded uncertainty", "quantity", true},
		{"margin", "how far it is on the right side of the bound", "quantity", true},
		{"conformance", "the probability that the bound is kept, nothing else being known", "float", true},
		{"false_acceptance", "of a pass: the probability that the bound is not kept", "float", true},
		{"false_rejection", "of a fail: the probability that it is kept", "float", true},
		{"posterior", "the probability that it is kept, with the limit's prior", "float", true},
		{"consumers_risk", "with the prior: a unit is accepted and does not conform", "float", true},
		{"producers_risk", "with the prior: a unit conforms and is not accepted", "float", true},
	},
	"lot": {
		{"name", "what the lot is called", "string", true},
		{"sentence", "how it stands", "string", true},
		{"units", "its units, in the order given", "tuple", true},
		{"passes", "how many units meet their limits", "int", true},
		{"fails", "how many do not", "int", true},
		{"undecided", "how many are undecided", "int", true},
		{"characteristics", "figures and fitted parameters over the units", "tuple", true},
	},
	"characteristic": {
		{"name", "the figure or the parameter's path", "string", true},
		{"condition", "where it holds", "string", true},
		{"units", "the units that have a value", "tuple", true},
		{"values", "their values", "tuple", true},
		{"mean", "the mean over the units", "quantity", true},
		{"deviation", "the standard deviation over the units", "quantity", true},
		{"least", "the least value", "quantity", true},
		{"greatest", "the greatest value", "quantity", true},
		{"factor", "k of the tolerance interval", "float", true},
		{"low", "the lower end of the tolerance interval", "quantity", true},
		{"high", "the upper end of the tolerance interval", "quantity", true},
		{"keeps_limit", "whether the tolerance interval keeps the limit", "bool", true},
		{"centre", "the centre line of the control chart", "quantity", true},
		{"lower_limit", "its lower control limit", "quantity", true},
		{"upper_limit", "its upper control limit", "quantity", true},
		{"signals", "what its rules see", "tuple", true},
		{"slope", "the trend per unit", "quantity", true},
		{"slope_uncertainty", "its expanded uncertainty", "quantity", true},
		{"p_value", "the chance of a slope as steep without a trend", "float", true},
	},
	"verdict": {
		{"outcome", "pass, fail or undecided", "string", true},
		{"sentence", "why, with its figures", "string", true},
	},
	"fitted": {
		{"path", "the parameter", "string", true},
		{"value", "its fitted value", "quantity", true},
		{"low", "the lower end of its 95 % interval", "quantity", true},
		{"high", "the upper end of its 95 % interval; None without one", "quantity", true},
		{"specified", "its value as drawn", "quantity", true},
		{"departure", "fitted less specified", "quantity", true},
		{"uncertainty", "the expanded uncertainty of the departure", "quantity", true},
		{"significant", "whether the departure is more than its uncertainty", "bool", true},
		{"within", "whether it lies within its tolerance", "string", true},
	},
}

var (
	materialFields = []fieldDoc{
		{"name", "the name of the material", "string", true},
		{"source", "where its constants come from", "string", true},
	}
	elementFields = []fieldDoc{
		{"name", "the name in parameter paths", "string", true},
		{"kind", "wedge, plate, rotator, ...", "string", true},
		{"index", "index of refraction", "float", true},
		{"reflectance", "the residual reflectance of each face", "quantity", true},
		{"thickness", "the distance between the two faces along the device's axis, mm", "quantity", false},
	}
	responseFields = []fieldDoc{
		{"direction", "forward or backward", "string", true},
		{"wavelength", "the vacuum wavelength, or the sweep of them", "quantity", true},
		{"temperature", "the temperature, or the sweep of them", "quantity", true},
		{"matrix", "the dominant Jones matrix at a point: rows of pairs, real and imaginary part", "tuple", true},
		{"paths", "the paths that light takes, at a point", "tuple", false},
		{"return_loss", "-10 log10 of the power coupled back into the launching fibre, dB", overConditions, false},
		{"pdl", "10 log10(t1/t2), dB: IEC 61300-3-2", overConditions, false},
		{"dgd", "differential group delay, ps: the spread of the eigenvalues of -i (dM/dw) M^-1; NaN where one polarization is lost", overConditions, false},
	}
	forwardFields = []fieldDoc{
		{"insertion_loss", "-10 log10((t1+t2)/2), dB: the mean over polarization, IEC 61300-3-4", overConditions, false},
		{"insertion_loss_min", "-10 log10(t1), dB: the least over polarization", overConditions, false},
		{"insertion_loss_max", "-10 log10(t2), dB: the greatest over polarization", overConditions, false},
	}
	backwardFields = []fieldDoc{
		{"isolation", "-10 log10(t1), dB: the least over polarization, IEC 61202-1", overConditions, false},
		{"isolation_mean", "-10 log10((t1+t2)/2), dB: the mean over polarization", overConditions, false},
	}
)

// itemTypes are the types of what the collections of the vocabulary hold.
var itemTypes = map[string]string{"series": "quantity", "sweep": "quantity", "measured": "measured", "limits": "limits", "group": "wedge"}

// Outline tells completion and inspection what values of a type have. It is meant for session.Config.
func Outline(typ string) *session.Outline { return allOutlines()[typ] }

var allOutlines = sync.OnceValue(func() map[string]*session.Outline {
	all := map[string]*session.Outline{}
	for typ, fields := range outlines {
		out := &session.Outline{Item: itemTypes[typ]}
		named := map[string]bool{}
		add := func(f fieldDoc) {
			if named[f.name] {
				return
			}
			named[f.name] = true
			doc := func(int) []document.Block {
				head := typ + "." + f.name
				if f.gives != "" {
					head += ": " + article(f.gives)
				}
				return []document.Block{document.Code{Text: head}, document.Plain(f.summary)}
			}
			out.Attributes = append(out.Attributes, session.Attribute{Name: f.name, Summary: f.summary, Gives: f.gives, Held: f.held, Doc: doc})
		}
		for _, f := range fields {
			add(f)
		}
		for _, w := range Methods() {
			if w.owner == typ {
				sig := w.signature()
				sig.Gives = givesDirection(w)
				out.Attributes = append(out.Attributes, session.Attribute{Name: w.Name, Summary: w.Summary, Call: &sig, Doc: w.Describe})
				named[w.Name] = true
			}
		}
		// The numbers of a part are called as the arguments of the word that makes it.
		if w := registry[typ]; w != nil && w.Call != nil {
			for _, p := range w.Params {
				switch {
				case p.Mode >= Many:
				case p.Kind.accepts(starlark.Float(1.5)) && !p.Kind.accepts(starlark.None):
					add(fieldDoc{p.Name, p.Doc, "float", true})
				case p.Kind.Unit != "" && p.Kind.Unit != "text":
					add(fieldDoc{p.Name, p.Doc, "quantity", true})
				}
			}
		}
		slices.SortFunc(out.Attributes, func(a, b session.Attribute) int { return strings.Compare(a.Name, b.Name) })
		all[typ] = out
	}
	all["grid"] = all["series"]
	return all
})

// Describe returns what inspection shows of the word: all that Help tells, as blocks.
func (w *Word) Describe(int) []document.Block {
	blocks := []document.Block{document.Code{Text: w.Signature()}, document.Plain(w.Summary)}
	for text := range strings.SplitSeq(w.Detail, "\n") {
		if text != "" {
			blocks = append(blocks, document.Plain(text))
		}
	}
	var args []document.Field
	for _, p := range w.Params {
		head, rest, _ := strings.Cut(p.line(), ": ")
		args = append(args, document.Field{Name: head, Value: p.Doc + "\n" + rest})
	}
	if args != nil {
		blocks = append(blocks, document.Fields{Caption: "Arguments", Rows: args})
	}
	var rest []document.Field
	for _, f := range []document.Field{{Name: "Returns", Value: w.Returns}, {Name: "Refused when", Value: w.Errors}, {Name: "Source", Value: w.Source}} {
		if f.Value != "" {
			rest = append(rest, f)
		}
	}
	if rest != nil {
		blocks = append(blocks, document.Fields{Rows: rest})
	}
	return append(blocks, document.Fields{Caption: "Example"}, document.Code{Text: w.Example})
}

// Describe tells of a value as its card does; with detail, of its attributes too. It is meant for
// session.Config.
func Describe(v starlark.Value, detail int) []document.Block {
	blocks := []document.Block{document.Code{Text: v.Type() + ": " + session.Text(v, 200)}}
	if s, ok := v.(shower); ok {
		blocks = s.blocks()
	}
	h, ok := v.(starlark.HasAttrs)
	if detail == 0 || !ok {
		return blocks
	}
	out := Outline(v.Type())
	var rows []document.Field
	for _, name := range h.AttrNames() {
		row := document.Field{Name: "." + name}
		if out != nil {
			for _, a := range out.Attributes {
				if a.Name == name {
					row.Value = a.Summary
					if a.Call != nil {
						row.Name += "(...)"
					}
				}
			}
		}
		rows = append(rows, row)
	}
	if rows != nil {
		blocks = append(blocks, document.Fields{Caption: fmt.Sprintf("Attributes of %s", article(v.Type())), Rows: rows})
	}
	return blocks
}
