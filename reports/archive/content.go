package archive

import (
	"errors"
	"fmt"
	"unicode/utf16"
)

// Attachment is a file that travels inside another.
type Attachment struct {
	Name string // as it is shown; never a path to be followed
	Data []byte
}

// dict resolves a value that must be a dictionary.
func (f *File) dict(v Value, what string) (Dict, error) {
	v, err := f.Resolve(v)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", what, err)
	}
	switch d := v.(type) {
	case Dict:
		return d, nil
	case Stream:
		return d.Dict, nil
	}
	return nil, fmt.Errorf("%s: found %T, expected a dictionary", what, v)
}

func (f *File) array(v Value, what string) (Array, error) {
	v, err := f.Resolve(v)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", what, err)
	}
	a, ok := v.(Array)
	if !ok {
		return nil, fmt.Errorf("%s: found %T, expected a list", what, v)
	}
	return a, nil
}

// Attachments returns the embedded files, in the order of their names. A file without any has none.
func (f *File) Attachments() ([]Attachment, error) {
	root, err := f.dict(f.trailer["Root"], "catalogue")
	if err != nil || root["Names"] == nil {
		return nil, err
	}
	names, err := f.dict(root["Names"], "names")
	if err != nil || names["EmbeddedFiles"] == nil {
		return nil, err
	}
	var all []Attachment
	taken := map[Ref]bool{}
	err = f.tree(names["EmbeddedFiles"], 0, func(spec Value) error {
		if len(all) == maxAttachments {
			return fmt.Errorf("found more than %d attachments", maxAttachments)
		}
		a, err := f.attachment(spec, taken)
		all = append(all, a)
		return err
	})
	return all, err
}

// once refuses an object that stands for two attachments: a small file could carry any number of them.
func once(v Value, taken map[Ref]bool) error {
	ref, ok := v.(Ref)
	if ok && taken[ref] {
		return fmt.Errorf("object %d is two attachments", ref)
	}
	if ok {
		taken[ref] = true
	}
	return nil
}

// tree walks a name tree (ISO 32000-1, 7.9.6).
func (f *File) tree(node Value, depth int, each func(Value) error) error {
	if depth > maxDepth {
		return errors.New("the tree of attachments has no end")
	}
	d, err := f.dict(node, "attachments")
	if err != nil {
		return err
	}
	if d["Kids"] != nil {
		kids, err := f.array(d["Kids"], "attachments")
		for _, k := range kids {
			if err == nil {
				err = f.tree(k, depth+1, each)
			}
		}
		return err
	}
	pairs, err := f.array(d["Names"], "attachments")
	if err != nil {
		return err
	}
	for i := 1; i < len(pairs); i += 2 {
		if err := each(pairs[i]); err != nil {
			return err
		}
	}
	return nil
}

func (f *File) attachment(v Value, taken map[Ref]bool) (a Attachment, err error) {
	if err := once(v, taken); err != nil {
		return a, err
	}
	spec, err := f.dict(v, "attachment")
	if err != nil {
		return a, err
	}
	name, err := f.Resolve(spec["UF"])
	if err != nil {
		return a, err
	}
	s, ok := name.(String)
	if !ok {
		return a, errors.New("an attachment has no name")
	}
	if len(s) > maxName {
		return a, fmt.Errorf("the name of an attachment has %d bytes, expected at most %d", len(s), maxName)
	}
	a.Name = s.Text()
	files, err := f.dict(spec["EF"], "attachment "+a.Name)
	if err != nil {
		return a, err
	}
	if err := once(files["F"], taken); err != nil {
		return a, err
	}
	content, err := f.Resolve(files["F"])
	if err != nil {
		return a, err
	}
	stream, ok := content.(Stream)
	if !ok {
		return a, fmt.Errorf("attachment %q has no content", a.Name)
	}
	if a.Data, err = f.Unpack(stream); err != nil {
		return a, fmt.Errorf("attachment %q: %w", a.Name, err)
	}
	return a, nil
}

// Text decodes a text string: UTF-16 with its mark, else one byte a character, as our ASCII is.
func (s String) Text() string {
	if len(s) < 2 || s[:2] != "\xFE\xFF" {
		return string(s)
	}
	return s[2:].codes()
}

// codes decodes what a page shows in the faces of a report: two bytes a character, its number in UTF-16.
func (s String) codes() string {
	units := make([]uint16, len(s)/2)
	for i := range units {
		units[i] = uint16(s[2*i])<<8 | uint16(s[2*i+1])
	}
	return string(utf16.Decode(units))
}

// Shown decodes a string that a page of a report shows.
func (s String) Shown() string { return s.codes() }

// Pages returns the numbers of the objects that are the pages, in their order.
func (f *File) Pages() ([]int, error) {
	root, err := f.dict(f.trailer["Root"], "catalogue")
	if err != nil {
		return nil, err
	}
	var all []int
	seen := map[Ref]bool{}
	var walk func(v Value, depth int) error
	walk = func(v Value, depth int) error {
		ref, ok := v.(Ref)
		if !ok || seen[ref] || depth > maxDepth {
			return errors.New("the tree of pages is no tree")
		}
		seen[ref] = true
		node, err := f.dict(v, "pages")
		if err != nil {
			return err
		}
		if node["Kids"] == nil {
			all = append(all, int(ref))
			return nil
		}
		kids, err := f.array(node["Kids"], "pages")
		for _, k := range kids {
			if err == nil {
				err = walk(k, depth+1)
			}
		}
		return err
	}
	return all, walk(root["Pages"], 0)
}
