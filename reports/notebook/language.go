package notebook

import "maps"

// KernelName is what a notebook that is written for this program names in its kernelspec.
const KernelName = "wedgework"

// LanguageInfo says what the cells are written in, in the terms of the notebook format and of the kernel protocol.
// Highlighting is that of Python, whose syntax cells share: viewers have no highlighter of the language's own name.
func LanguageInfo() map[string]any {
	return map[string]any{
		"name": "starlark", "version": "1", "mimetype": "text/x-python", "file_extension": ".star",
		"pygments_lexer":  "python",
		"codemirror_mode": map[string]any{"name": "python", "version": 3},
	}
}

// NameLanguage completes the metadata, so that every viewer of the notebook knows the kernel and the highlighter.
// What the notebook says of the kernel itself stays. The metadata may be shared with other notebooks: it is copied.
func (nb *Notebook) NameLanguage() {
	m := maps.Clone(nb.Metadata)
	if m == nil {
		m = map[string]any{}
	}
	m["language_info"] = LanguageInfo()
	if m["kernelspec"] == nil {
		m["kernelspec"] = map[string]any{"name": KernelName, "display_name": "Wedgework", "language": "starlark"}
	}
	nb.Metadata = m
}
