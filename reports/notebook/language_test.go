package notebook

import "testing"

// A notebook that was run names the kernel and the highlighter, whatever it named before; the one that was read is left
// alone.
func TestNameLanguage(t *testing.T) {
	for _, given := range []map[string]any{
		nil,
		{"language_info": map[string]any{"name": "starlark"}},
		{"kernelspec": map[string]any{"name": "wedgework", "display_name": "Mine"}, "title": "kept"},
	} {
		was := &Notebook{Metadata: given}
		before := len(given)
		is := was.Clone()
		is.NameLanguage()
		if text(is.Metadata, "language_info", "pygments_lexer") != "python" || is.Kernel() != KernelName {
			t.Errorf("%v became %v", given, is.Metadata)
		}
		if given["title"] != is.Metadata["title"] || text(given, "kernelspec", "display_name") != "" &&
			text(is.Metadata, "kernelspec", "display_name") != "Mine" {
			t.Errorf("of %v something is lost: %v", given, is.Metadata)
		}
		if len(given) != before {
			t.Errorf("the metadata that was read has changed: %v", given)
		}
	}
}
