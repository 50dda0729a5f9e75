package vocab

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"wedgework/reports/measured"
	"wedgework/reports/notebook"
	"wedgework/reports/record"
)

// fakeHost is the outside world of a test: files of testdata, settings by hand, and notes of what the
// words said to it.
type fakeHost struct {
	outputs  []notebook.Output
	settings map[string]string
	inForce  map[string]string
	header   *record.Header
	verified []any
	warnings []string
	saved    map[string][]byte
}

func newFakeHost(testing.TB) *fakeHost {
	return &fakeHost{settings: map[string]string{}, inForce: map[string]string{}}
}

func (h *fakeHost) Save(name string, data []byte) error {
	if h.saved == nil {
		h.saved = map[string][]byte{}
	}
	h.saved[name] = data
	return nil
}

func (h *fakeHost) Emit(o notebook.Output) { h.outputs = append(h.outputs, o) }

func (h *fakeHost) Input(_ context.Context, name, path string) ([]measured.File, error) {
	if path == "" {
		return nil, fmt.Errorf("the input %q is bound to no file and has no default", name)
	}
	data, err := os.ReadFile(filepath.Join("testdata", filepath.Base(path)))
	if err != nil {
		return nil, err
	}
	return []measured.File{measured.NewFile(filepath.Base(path), data)}, nil
}

func (h *fakeHost) Setting(name string) (string, bool) { e, ok := h.settings[name]; return e, ok }
func (h *fakeHost) SettingIs(name, printed string)     { h.inForce[name] = printed }
func (h *fakeHost) Report(r record.Header)             { h.header = &r }
func (h *fakeHost) Verified(result any)                { h.verified = append(h.verified, result) }
func (h *fakeHost) Warn(text string)                   { h.warnings = append(h.warnings, text) }
