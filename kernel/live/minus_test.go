package live

import (
	"strings"
	"testing"
)

// Whatever way a negative number comes into plain text, its sign is that of the keyboard, so that it can be pasted into
// a cell; what is set as a page has the minus sign.
func TestMinusSigns(t *testing.T) {
	connection, end := serve(t)
	defer end()
	f := connect(t, connection, "front end")
	defer f.close()
	for _, code := range []string{"-3.5*nm", "print(-3.5*nm)", "print(str(-3.5*nm))", "print('{}'.format(-3.5*nm))",
		"print('%s' % (-3.5*nm))", "[-3.5*nm]", "table([['a'], [-3.5*nm]])", "text('x {} y', -3.5*nm)",
		"(-3.5*nm, 1)", "{'a': -3.5*nm}", "1*nm + \"\" if False else -3.5*nm"} {
		about := f.run(t, code)
		text := field(t, about, "stream", "text")
		for _, msgType := range []string{"execute_result", "display_data"} {
			text += field(t, about, msgType, "data")
		}
		plain, page, _ := strings.Cut(text, `"text/plain"`) // keys are sorted: html and markdown come before
		if page == "" {
			plain, page = page, plain
		}
		if !strings.Contains(page, "-3.5 nm") || strings.Contains(page, "−") {
			t.Errorf("%s: plain text %s, want -3.5 nm with the sign of the keyboard", code, page)
		}
		if plain != "" && plain != "{" && (!strings.Contains(plain, "−3.5 nm") || strings.Contains(plain, "-3.5 nm")) {
			t.Errorf("%s: set as %s, want a minus sign", code, plain)
		}
	}
}
