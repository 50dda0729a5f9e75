package measured

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// identify refuses a file whose name says another unit than what stands in it. Readings of one unit under the name of
// another are a mix-up, whichever is right.
func (r *reader) identify() error {
	units := r.distinctUnits()
	if want := r.File.Unit; want != "" && len(units) > 0 && !slices.ContainsFunc(units,
		func(u string) bool { return Named(want, u) }) {
		return r.refuseIdentity(units, "unit "+want+", as the plan names it by its file")
	}
	if said := contradiction(r.File.Name, units); said != "" {
		return r.refuseIdentity(units, "unit "+said+", as the name of the file has it")
	}
	if near := similar(r.File.Name, units); near != "" {
		r.warn("the name %s has %s in it, and not unit %s", r.File.Name, near, units[0])
	}
	return nil
}

// refuseIdentity refuses the unit that a file states.
func (r *reader) refuseIdentity(units []string, want string) error {
	found := "unit " + strings.Join(units[:min(3, len(units))], ", ")
	if len(units) > 3 {
		found += fmt.Sprintf(" and %d more", len(units)-3)
	}
	if i := r.metaOf(UnitName); i >= 0 && r.Units == nil {
		return r.refuseMeta(r.Meta[i], found, want)
	}
	return r.refuse(0, 0, found, want)
}

// distinctUnits lists the units of the file, as its columns or else its metadata say.
func (r *reader) distinctUnits() []string {
	if r.Units == nil {
		if u := r.Unit(); u != "" {
			return []string{u}
		}
		return nil
	}
	return slices.Compact(slices.Sorted(slices.Values(r.Units)))
}

// Named tells whether a name holds the serial number of a unit, or is a part of it. Case, leading zeros and the marks
// between groups of letters and digits do not count.
func Named(name, unit string) bool {
	return strings.EqualFold(name, unit) || agreeing(tokens(name), tokens(unit)) || agreeing(tokens(unit), tokens(name))
}

// unitWords announce a serial number in the name of a file: "unit-0417", "SN_0417", "lot-26-11-unit-0418".
var unitWords = []string{"unit", "sn", "serial", "serialno", "serialnumber", "seriennummer", "serien", "snr",
	"matricola", "serie"}

// contradiction returns the serial number that a file name announces and that is none of the units, "" where it
// announces none or one of them.
func contradiction(name string, units []string) string {
	if len(units) == 0 {
		return ""
	}
	words := tokens(strings.TrimSuffix(name, filepath.Ext(name)))
	for i, w := range words {
		rest := words[i+1:]
		for len(rest) > 0 && slices.Contains([]string{"no", "nr", "number", "id"}, rest[0]) {
			rest = rest[1:]
		}
		if !slices.Contains(unitWords, w) || len(rest) == 0 || !serial(rest) {
			continue
		}
		if !slices.ContainsFunc(units, func(u string) bool {
			return agreeing(words, tokens(u)) ||
				agreeing(tokens(u), announced(rest))
		}) {
			return strings.Join(announced(rest), "-")
		}
	}
	return ""
}

// serial tells whether what follows "unit" in a name can be a serial number: it has a digit and is no quantity such as
// 23C or 1550nm, and no date.
func serial(rest []string) bool {
	w := rest[0]
	digitsEnd := strings.IndexFunc(w, func(c rune) bool { return !isDigit(c) })
	switch {
	case strings.IndexFunc(w, isDigit) < 0:
		// "unit A 17", and not "unit after 3 days"
		if len(rest) < 2 || len(w) > 2 || strings.IndexFunc(rest[1], isDigit) < 0 {
			return false
		}
	case digitsEnd > 0:
		if _, ok := lookUp(w[digitsEnd:]); ok {
			return false
		}
	case len(rest) > 1:
		if _, ok := lookUp(rest[1]); ok { // "23 degC"
			return false
		}
	}
	_, err := parseDate(strings.Join(rest[:min(3, len(rest))], "-"))
	return err != nil
}

// announced is the words of the serial number.
func announced(rest []string) []string {
	if strings.IndexFunc(rest[0], isDigit) < 0 {
		return rest[:2]
	}
	return rest[:1]
}

// agreeing tells whether one list of words holds the other in a row.
func agreeing(all, part []string) bool {
	if len(part) == 0 {
		return false
	}
	for i := 0; i+len(part) <= len(all); i++ {
		if slices.EqualFunc(all[i:i+len(part)], part, sameSerial) {
			return true
		}
	}
	joined := strings.Join(part, "") // A0417 for A-0417: the marks between groups do not count
	for i := range all {
		for j := i + 1; j <= len(all); j++ {
			if strings.Join(all[i:j], "") == joined {
				return true
			}
		}
	}
	return false
}

// sameSerial compares two words of serial numbers: leading zeros of a number do not count.
func sameSerial(a, b string) bool {
	if a == b {
		return true
	}
	return digits(a) && digits(b) && strings.TrimLeft(a, "0") == strings.TrimLeft(b, "0")
}

// tokens parts a name into words of letters and digits, in lower case; "unit0417" becomes two, for a word that
// announces a serial number may stand against it.
func tokens(name string) []string {
	var all []string
	for _, w := range strings.FieldsFunc(strings.ToLower(name), func(c rune) bool {
		return !unicode.IsLetter(c) &&
			!unicode.IsDigit(c)
	}) {
		if rest := strings.TrimLeftFunc(w, unicode.IsLetter); rest != w && rest != "" && slices.Contains(unitWords,
			w[:len(w)-len(rest)]) {
			all = append(all, w[:len(w)-len(rest)], rest)
			continue
		}
		all = append(all, w)
	}
	return all
}

// similar returns a word of a file name that is written as the only unit is and differs from it, while nothing in the
// name is the unit itself: perhaps another unit's file, perhaps a running number.
func similar(name string, units []string) string {
	if len(units) != 1 || len(units[0]) < 4 {
		return ""
	}
	words, unit := tokens(strings.TrimSuffix(name, filepath.Ext(name))), tokens(units[0])
	if len(unit) != 1 || agreeing(words, unit) || strings.IndexFunc(unit[0], isDigit) < 0 {
		return ""
	}
	for _, w := range words {
		if pattern(w) == pattern(unit[0]) {
			return fmt.Sprintf("%q", w)
		}
	}
	return ""
}

// pattern replaces the digits of a word.
func pattern(w string) string {
	return strings.Map(func(c rune) rune {
		if isDigit(c) {
			return '0'
		}
		return c
	}, w)
}

// lookalike finds a name that differs from one before it in what the eye, a spreadsheet or a keyboard's language
// changes: half of the readings of a unit would else be those of another. at is its row, -1 where there is none.
func lookalike(names []string) (at int, as string) {
	first := map[string]string{}
	last := ""
	for i, name := range names {
		if name == last {
			continue
		}
		last = name
		form := plainForm(name)
		if was, ok := first[form]; !ok {
			first[form] = name
		} else if was != name {
			return i, was
		}
	}
	return -1, ""
}

// dressed are letters and marks that look like plain ones: Greek and Cyrillic letters, dashes, the minus sign.
var dressed = strings.NewReplacer("а", "a", "в", "b", "е", "e", "к", "k", "м", "m", "н", "h", "о", "o", "р", "p", "с",
	"c", "т", "t", "х", "x", "у", "y", "ѕ", "s", "і", "i", "α", "a", "β", "b", "ε", "e", "κ", "k", "ο", "o", "ρ", "p",
	"τ", "t",
	"χ", "x", "ν", "v", "‐", "-", "‑", "-", "‒", "-", "–", "-", "—", "-", "−", "-")

// plainForm is a name without case, width, invisible characters, spaces and leading zeros.
func plainForm(name string) string {
	name = strings.Map(func(c rune) rune {
		if unicode.IsSpace(c) || unicode.Is(unicode.Cf, c) {
			return -1
		}
		return c
	}, dressed.Replace(strings.ToLower(norm.NFKC.String(name))))
	if digits(name) {
		return strings.TrimLeft(name, "0")
	}
	return name
}
