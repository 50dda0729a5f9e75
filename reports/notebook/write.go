package notebook

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
)

// Bytes returns the notebook as nbformat's own writer would lay it out. It fails only when an output
// holds something JSON cannot say, such as a NaN inside an application/json bundle.
func (nb *Notebook) Bytes() ([]byte, error) {
	cells := make([]any, len(nb.Cells))
	for i, c := range nb.Cells {
		cells[i] = c.fields(nb.Minor)
	}
	m := with(nb.Extra, map[string]any{
		"nbformat":       major,
		"nbformat_minor": nb.Minor,
		"metadata":       orEmpty(nb.Metadata),
		"cells":          cells,
	})
	var b bytes.Buffer
	e := json.NewEncoder(&b) // maps come out with sorted keys, and a newline at the end
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	if err := e.Encode(m); err != nil {
		return nil, fmt.Errorf("notebook cannot be written: %w", err)
	}
	return b.Bytes(), nil
}

func (c *Cell) fields(minor int) map[string]any {
	m := with(c.Extra, map[string]any{
		"cell_type": c.Type,
		"metadata":  orEmpty(c.Metadata),
		"source":    split(c.Source),
	})
	if minor >= firstMinorWithIDs && c.ID != "" {
		m["id"] = c.ID
	}
	if c.Type == CodeCell {
		outputs := make([]any, len(c.Outputs))
		for i, o := range c.Outputs {
			outputs[i] = o.fields()
		}
		m["outputs"] = outputs
		m["execution_count"] = orNull(c.Count)
	}
	if c.Attachments != nil {
		files := map[string]any{}
		for name, bundle := range c.Attachments {
			files[name] = splitBundle(bundle)
		}
		m["attachments"] = files
	}
	return m
}

func (o Output) fields() map[string]any {
	m := with(o.Extra, map[string]any{"output_type": o.Type})
	switch o.Type {
	case StreamOutput:
		m["name"] = o.Stream
		m["text"] = split(o.Text)
	case ErrorOutput:
		e := o.Error
		if e == nil {
			e = &Error{}
		}
		m["ename"], m["evalue"] = e.Name, e.Value
		m["traceback"] = append([]string{}, e.Traceback...)
	case ResultOutput, DisplayOutput:
		m["data"] = splitBundle(o.Data)
		m["metadata"] = orEmpty(o.Meta)
		if o.Type == ResultOutput {
			m["execution_count"] = orNull(o.Count)
		}
	}
	return m
}

func splitBundle(bundle map[string]any) map[string]any {
	m := make(map[string]any, len(bundle))
	for mime, v := range bundle {
		if s, ok := v.(string); ok && isSplit(mime) {
			v = split(s)
		}
		m[mime] = v
	}
	return m
}

// with adds the defined fields to a copy of the undefined ones; the defined ones win.
func with(extra, defined map[string]any) map[string]any {
	m := maps.Clone(extra)
	if m == nil {
		return defined
	}
	maps.Copy(m, defined)
	return m
}

func orEmpty(m map[string]any) map[string]any {
	if m == nil {
		return map[string]any{}
	}
	return m
}

func orNull(count int) any {
	if count == 0 {
		return nil
	}
	return count
}
