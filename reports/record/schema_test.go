package record

import (
	"bytes"
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

// compiled is the published schema in the hands of a validator that shares nothing with this package.
func compiled(t *testing.T) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(JSONSchema()))
	if err != nil {
		t.Fatal(err)
	}
	id := doc.(map[string]any)["$id"].(string)
	if !strings.HasPrefix(id, "urn:uuid:") {
		t.Errorf("the schema is named %q, expected a URN that needs no domain", id)
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	if err := c.AddResource(id, doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile(id)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func validate(t *testing.T, s *jsonschema.Schema, data []byte) error {
	t.Helper()
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return s.Validate(v)
}

func TestSampleIsValid(t *testing.T) {
	r := sample()
	for _, s := range []*Source{&r.Notebook, &r.Executed, &r.Constants[0], &r.Inputs[0].File} {
		s.SHA256 = strings.Repeat("a0", 32)
	}
	data, err := r.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	s := compiled(t)
	if err := validate(t, s, data); err != nil {
		t.Error(err)
	}
	for _, c := range []struct{ name, from, to string }{
		{"another schema", `"wedgework record"`, `"wedgework changes"`},
		{"another version", `"version": 1,`, `"version": 2,`},
		{"an outcome that is none", `"outcome": "pass"`, `"outcome": "good"`},
		{"a figure as text", `"margin": 4.10`, `"margin": "4.10"`},
		{"a figure left out", `"margin": 4.10,`, ``},
		{"a hash cut short", `"sha256": "a0`, `"sha256": "`},
		{"a day that is none", `"2026-11-25"`, `"25 November"`},
	} {
		broken := bytes.Replace(data, []byte(c.from), []byte(c.to), 1)
		if bytes.Equal(broken, data) {
			t.Errorf("%s: the sample holds no %s", c.name, c.from)
		} else if validate(t, s, broken) == nil {
			t.Errorf("%s: the schema lets it pass", c.name)
		}
	}
}

// The schema describes every field that the program writes, and no other; what may be left out there may be left out
// here.
func TestSchemaHasEveryField(t *testing.T) {
	var doc struct {
		definition
		Defs map[string]definition `json:"$defs"`
	}
	if err := json.Unmarshal(JSONSchema(), &doc); err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	var check func(name string, d definition, typ reflect.Type)
	check = func(name string, d definition, typ reflect.Type) {
		if seen[name] {
			return
		}
		seen[name] = true
		var properties, required []string
		for _, f := range fields(typ) {
			tag, options, _ := strings.Cut(f.Tag.Get("json"), ",")
			properties = append(properties, tag)
			if !strings.Contains(options, "omitempty") {
				required = append(required, tag)
			}
			p, ok := d.Properties[tag]
			if !ok {
				t.Errorf("record.schema.json: %s lacks the property %q of %v", name, tag, typ)
				continue
			}
			inner := f.Type
			for inner.Kind() == reflect.Slice || inner.Kind() == reflect.Pointer {
				inner = inner.Elem()
			}
			if inner.Kind() == reflect.Struct {
				ref := strings.TrimPrefix(p.Ref+p.Items.Ref, "#/$defs/")
				check(ref, doc.Defs[ref], inner)
			}
		}
		for tag := range d.Properties {
			if !slices.Contains(properties, tag) {
				t.Errorf("record.schema.json: %s has the property %q, and %v has no such field", name, tag, typ)
			}
		}
		slices.Sort(required)
		slices.Sort(d.Required)
		if !slices.Equal(required, d.Required) {
			t.Errorf("record.schema.json: %s requires %v, and %v writes always %v", name, d.Required, typ, required)
		}
	}
	check("the record", doc.definition, reflect.TypeFor[file]())
	if len(seen) < 15 {
		t.Errorf("looked at %d definitions, want those of the whole record", len(seen))
	}
}

type definition struct {
	Properties map[string]struct {
		Ref   string `json:"$ref"`
		Items struct {
			Ref string `json:"$ref"`
		} `json:"items"`
	} `json:"properties"`
	Required []string `json:"required"`
}

// fields lists the fields as JSON has them: those of embedded types in their place. Header writes itself.
func fields(typ reflect.Type) []reflect.StructField {
	if typ == reflect.TypeFor[Header]() {
		typ = reflect.TypeFor[jsonHeader]()
	}
	var all []reflect.StructField
	for i := range typ.NumField() {
		if f := typ.Field(i); f.Anonymous {
			all = append(all, fields(f.Type)...)
		} else {
			all = append(all, f)
		}
	}
	return all
}
