package session

import (
	"errors"
	"io/fs"
)

// Names of a CellError by what went wrong, for who reads the first word of a traceback. The interpreter and the words
// tell it by their messages alone.
var errorNames = []struct {
	pattern pattern
	name    string
}{
	{matching(`^(\w+: )?fail: `), "Failure"},
	{matching(`divided by zero|division by zero|modulo by zero|zero divisor`), "ZeroDivisionError"},
	{matching(`\bindex -?\d+ out of range|out of range: index`), "IndexError"},
	{matching(`^key .* not in dict|has no key\b`), "KeyError"},
	{matching(`has no \.\w+`), "AttributeError"},
	{matching(`^cannot (add|subtract|multiply|divide|compare) .*` +
		`(, an? | with the plain number|\bplain number)|` +
		`cannot become |is an? [a-z ]+, not an? `), "UnitError"},
	{matching(`no such file|no file can be read|cannot read|could not be read|cannot be read|` +
		`is not a regular file`), "FileError"},
	{matching(`got \d+ arguments?, want|` +
		`(missing|accepts no|accepts at most|unknown|unexpected|takes no|takes at most|given twice).*` +
		`argument|\bis missing: it must be|^\w+: \w+ must be |unknown argument`), "ArgumentError"},
	{matching(`^unknown binary op|^unsupported|not callable|invalid call of non-function|` +
		`^cannot compare|unhashable|not iterable|want (list|dict|string|int|float)`), "TypeError"},
}

// Name names the error for people: its kind, and of an operation or a word that failed what went wrong, as in
// "UnitError" or "KeyError"; "Error" where that is not known.
func (e *Error) Name() string {
	if e.Kind != CellError {
		return e.Kind
	}
	if errors.Is(e.cause, fs.ErrNotExist) || errors.Is(e.cause, fs.ErrPermission) {
		return "FileError"
	}
	for _, n := range errorNames {
		if n.pattern().MatchString(e.Message) {
			return n.name
		}
	}
	return e.Kind
}
