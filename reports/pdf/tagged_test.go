package pdf

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	reader "rsc.io/pdf"
)

// standard are the types of elements of ISO 32000-1, 14.8.4, that our files use.
var standard = strings.Fields("Document Sect Div BlockQuote Caption TOC TOCI P H1 H2 H3 H4 H5 H6 L LI Lbl LBody " +
	"Table TR TH TD THead TBody Span Reference Link Figure Formula")

// tagRules are the rules on the tree of elements: clauses of ISO 19005-3:2012 for level A, and of ISO 14289-1:2014,
// which are marked UA, as the veraPDF validator checks them.
var tagRules = []struct {
	clause, rule string
	check        func(f archive) []string
}{
	{"6.6.2.3.3", "the property that says PDF/UA is described", func(f archive) []string {
		return unless(f.property("schemas>prefix") == "pdfuaid" && f.property("schemas>name") == "part" &&
			f.property("schemas>valueType") == "Integer" && f.property("schemas>category") == "internal" &&
			f.property("schemas>namespaceURI") == "http://www.aiim.org/pdfua/ns/id/", "the metadata: %s", f.xmp)
	}},
	{"6.7.2", "the file says that it is tagged, and has a tree", func(f archive) []string {
		return unless(f.root.Key("MarkInfo").Key("Marked").Bool() && f.tree().Key("K").Key("S").Name() == "Document",
			"%v, %v", f.root.Key("MarkInfo"), f.tree())
	}},
	{"6.7.3", "every type is a standard one or stands for one, and no standard one for another",
		func(f archive) []string {
			var wrong []string
			for _, e := range f.elements() {
				s := e.Key("S").Name()
				wrong = append(wrong, unless(slices.Contains(standard, f.role(e)), "type %s", s)...)
			}
			for _, k := range f.tree().Key("RoleMap").Keys() {
				wrong = append(wrong, unless(!slices.Contains(standard, k), "%s is mapped", k)...)
			}
			return wrong
		}},
	{"6.7.4", "the language is said", func(f archive) []string {
		lang := f.root.Key("Lang").RawString()
		return unless(regexp.MustCompile(`^[A-Za-z]{1,8}(-[A-Za-z0-9]{1,8})*$`).MatchString(lang), "Lang %q", lang)
	}},
	{"UA 7.1", "the parent tree leads from each piece of a page to the element that holds it", archive.parentTree},
	{"UA 7.3, 7.7", "figures and formulas say what they are", func(f archive) []string {
		var wrong []string
		for _, e := range f.elements() {
			if role := f.role(e); role == "Figure" || role == "Formula" {
				wrong = append(wrong, unless(e.Key("Alt").Text() != "", "%v", e)...)
			}
			wrong = append(wrong, unless(!e.Key("P").IsNull(), "%v has no parent", e)...)
		}
		return wrong
	}},
	{"UA 7.4", "the first heading is of level 1, and none is more than one below the one before",
		func(f archive) []string {
			var wrong []string
			last := 0
			for _, e := range f.elements() {
				level, ok := strings.CutPrefix(e.Key("S").Name(), "H")
				if n, err := strconv.Atoi(level); ok && err == nil {
					wrong = append(wrong, unless(n <= last+1, "H%d after H%d", n, last)...)
					last = n
				}
			}
			return wrong
		}},
	{"UA 7.5", "every cell finds its head: heads say what they are heads of", func(f archive) []string {
		var wrong []string
		for _, e := range f.elements() {
			switch f.role(e) {
			case "TH":
				scope := e.Key("A").Key("Scope").Name()
				wrong = append(wrong, unless(scope == "Row" || scope == "Column", "a head of %q", scope)...)
			case "TR":
				first := e.Key("K").Index(0)
				wrong = append(wrong, unless(f.role(first) == "TH" || first.Key("A").Key("ColSpan").Int64() > 0,
					"a row without a head")...)
			}
		}
		return wrong
	}},
	{"UA 7.2", "elements stand in those that they are for", func(f archive) []string {
		within := map[string]string{"TR": "Table THead TBody", "TH": "TR", "TD": "TR", "THead": "Table",
			"TBody": "Table", "LI": "L", "Lbl": "LI", "LBody": "LI", "TOCI": "TOC", "Reference": "TOCI"}
		var wrong []string
		for _, e := range f.elements() {
			if in, ok := within[f.role(e)]; ok {
				parent := f.role(e.Key("P"))
				wrong = append(wrong, unless(slices.Contains(strings.Fields(in), parent), "%s in %s", f.role(e),
					parent)...)
			}
		}
		return wrong
	}},
	{"UA 7.6", "an item of a list is a label and a body", func(f archive) []string {
		var wrong []string
		for _, e := range f.elements() {
			if f.role(e) == "LI" {
				k := e.Key("K")
				wrong = append(wrong, unless(k.Len() == 2 && f.role(k.Index(0)) == "Lbl" &&
					f.role(k.Index(1)) == "LBody", "an item of %d parts", k.Len())...)
			}
		}
		return wrong
	}},
	{"UA 7.18", "a link belongs to an element of its kind, says where it leads, and is reached in the order of the " +
		"tree", archive.annotations},
}

func (f archive) tree() reader.Value { return f.root.Key("StructTreeRoot") }

// role is the standard type of an element.
func (f archive) role(e reader.Value) string {
	s := e.Key("S").Name()
	if role := f.tree().Key("RoleMap").Key(s).Name(); role != "" {
		return role
	}
	return s
}

// elements lists the tree in the order of reading.
func (f archive) elements() []reader.Value {
	var out []reader.Value
	var walk func(e reader.Value)
	walk = func(e reader.Value) {
		out = append(out, e)
		for i := range e.Key("K").Len() {
			if k := e.Key("K").Index(i); !k.Key("S").IsNull() {
				walk(k)
			}
		}
	}
	walk(f.tree().Key("K"))
	return out
}

// parents are the entries of the parent tree by their keys.
func (f archive) parents() map[int64]reader.Value {
	out := map[int64]reader.Value{}
	nums := f.tree().Key("ParentTree").Key("Nums")
	for i := 0; i+1 < nums.Len(); i += 2 {
		out[nums.Index(i).Int64()] = nums.Index(i + 1)
	}
	return out
}

func (f archive) parentTree() []string {
	holder := map[string]string{} // page and piece to what holds it
	for _, e := range f.elements() {
		for i := range e.Key("K").Len() {
			page, k := e.Key("Pg"), e.Key("K").Index(i)
			if k.Key("Type").Name() == "MCR" {
				page, k = k.Key("Pg"), k.Key("MCID")
			}
			if k.Kind() == reader.Integer {
				holder[fmt.Sprint(identity(page), k.Int64())] = fmt.Sprint(e)
			}
		}
	}
	var wrong []string
	parents, found := f.parents(), 0
	for n := 1; n <= f.r.NumPage(); n++ {
		page := f.r.Page(n).V
		list := parents[page.Key("StructParents").Int64()]
		wrong = append(wrong, unless(page.Key("StructParents").Kind() == reader.Integer &&
			(list.Kind() == reader.Array || f.blank), "page %d has no place in the tree", n)...)
		for i := range list.Len() {
			found++
			want := holder[fmt.Sprint(identity(page), i)]
			wrong = append(wrong, unless(fmt.Sprint(list.Index(i)) == want, "page %d, piece %d: %v, held by %s", n, i,
				list.Index(i), want)...)
		}
	}
	next := f.tree().Key("ParentTreeNextKey").Int64()
	for key := range parents {
		wrong = append(wrong, unless(key < next, "key %d, the next is said to be %d", key, next)...)
	}
	return append(wrong, unless(found == len(holder), "%d pieces lead to elements, which hold %d", found,
		len(holder))...)
}

func (f archive) annotations() []string {
	var wrong []string
	parents := f.parents()
	for n := 1; n <= f.r.NumPage(); n++ {
		page := f.r.Page(n).V
		wrong = append(wrong, unless(page.Key("Tabs").Name() == "S", "page %d: Tabs %v", n, page.Key("Tabs"))...)
		for i := range page.Key("Annots").Len() {
			a := page.Key("Annots").Index(i)
			e := parents[a.Key("StructParent").Int64()]
			held := false
			for k := range e.Key("K").Len() {
				held = held || fmt.Sprint(e.Key("K").Index(k).Key("Obj")) == fmt.Sprint(a)
			}
			wrong = append(wrong, unless(f.role(e) == "Link" && held, "page %d: %v belongs to %v", n, a, e)...)
			wrong = append(wrong, unless(a.Key("Contents").Text() != "", "page %d: %v does not say where it leads", n,
				a)...)
		}
	}
	return wrong
}
