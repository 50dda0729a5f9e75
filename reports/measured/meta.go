package measured

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
	"unicode"
)

// The metadata that the program itself reads, of which a file may have one each.
const (
	polarizationKey = "source polarization"
	directionKey    = "direction"
	measuredKey     = "measured"
	referenceKey    = "reference taken"
	excessKey       = "fixture excess"
	noiseKey        = "power noise"
	dueSuffix       = "calibration due"
)

var singular = []string{
	UnitName, LotName, ConditionName, Temperature, polarizationKey, directionKey, measuredKey, referenceKey,
	excessKey, excessKey + " " + forward, excessKey + " " + backward, noiseKey, driftKey,
	stateErrorKey,
}

// comment takes a comment line: before the heads a key and its value are metadata, anything else a remark.
func (r *reader) comment(row gridRow, text string, headed bool) error {
	if text == "" {
		return nil
	}
	if pairs := pairsOf(text); pairs != nil && !headed {
		for _, p := range pairs {
			r.Meta = append(r.Meta, KeyValue{Key: p[0], Value: p[1], Line: row.line})
		}
	} else {
		r.Remarks = append(r.Remarks, Remark{Text: text, Line: row.line})
	}
	return r.note(row, text)
}

// late refuses a comment among or below the readings that says what the readings above the heads would be taken by: a
// second sweep under the first, whose temperature would be lost.
func (r *reader) late(line int, text string) error {
	for _, p := range pairsOf(text) {
		known := keyOf(p[0])
		if above, stated := r.Value(known); p[1] != "" && !(stated && above == p[1]) && readKey(known) {
			return r.refuse(line, 0, quote(text)+" below the heads of the columns",
				"it above them, for the whole file; sweeps that differ in it go into columns or files of their own")
		}
	}
	return nil
}

// readKey tells whether the program reads the metadata of a key.
func readKey(key string) bool { return dated(key) || slices.Contains(singular, key) }

// pairsOf returns the keys and values of a metadata line, nil for a remark: "unit: 0417", "unit = 0417", several on one
// line that are parted by commas or semicolons, and without a colon a key that the program reads and its value.
func pairsOf(text string) [][2]string {
	if key, value, ok := keyValue(text); ok {
		if several := severalPairs(text); several != nil {
			return several
		}
		return [][2]string{{key, value}}
	}
	if several := wordPairs(text); several != nil {
		return several
	}
	for _, mark := range []string{"\t", ";", ",", " "} {
		at := strings.Index(text, mark)
		if mark == " " { // the value is one word, with a digit in it, so that "unit was cleaned" stays a remark
			at = strings.LastIndex(text, mark)
		}
		if at <= 0 {
			continue
		}
		key, value := trimKey(text[:at]), strings.TrimSpace(text[at+1:])
		known := keyOf(key)
		if (known == UnitName || known == LotName || mark != " " && readKey(known)) && value != "" &&
			(mark != " " || strings.IndexFunc(value, isDigit) >= 0) {
			return [][2]string{{key, value}}
		}
	}
	return nil
}

// severalPairs parts a line such as "unit: 0417, lot: 26-11", all of whose keys the program reads.
func severalPairs(text string) [][2]string {
	parts := strings.FieldsFunc(text, func(c rune) bool { return c == ',' || c == ';' })
	if len(parts) < 2 {
		return nil
	}
	var pairs [][2]string
	for _, p := range parts {
		key, value, ok := keyValue(p)
		if !ok || value == "" || !readKey(keyOf(key)) {
			return nil
		}
		pairs = append(pairs, [2]string{key, value})
	}
	return pairs
}

// wordPairs parts a line such as "unit 0417 lot 26-11".
func wordPairs(text string) (pairs [][2]string) {
	word, _, several := strings.Cut(text, " ")
	if known := keyOf(word); !several || len(word) > 64 || known != UnitName && known != LotName {
		return nil
	}
	words := strings.Fields(text)
	if len(words) < 4 || len(words)%2 != 0 {
		return nil
	}
	for i := 0; i < len(words); i += 2 {
		known := keyOf(words[i])
		if known != UnitName && known != LotName || strings.IndexFunc(words[i+1], isDigit) < 0 {
			return nil
		}
		pairs = append(pairs, [2]string{trimKey(words[i]), strings.TrimRight(words[i+1], ",;")})
	}
	return pairs
}

func keyValue(text string) (key, value string, ok bool) {
	if before, after, wide := strings.Cut(text, "："); wide && !strings.Contains(before, ":") {
		text = before + ":" + after
	}
	mark := ":"
	if !strings.Contains(text, mark) {
		mark = "="
	}
	key, value, ok = strings.Cut(text, mark)
	key, value = trimKey(key), strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(value), "*/"))
	return key, value, ok && key != ""
}

// trimKey takes off what else than the marks we know may begin a comment line: --, *, ', >, REM.
func trimKey(key string) string {
	key = strings.TrimLeftFunc(key, func(c rune) bool {
		return !unicode.IsLetter(c) && !unicode.IsDigit(c) &&
			c != '(' && c != '°'
	})
	if len(key) > 4 && strings.EqualFold(key[:4], "rem ") {
		key = key[4:]
	}
	return strings.TrimSpace(key)
}

// preamble takes a row above the heads: instruments and spreadsheets write their metadata as a key and a
// value beside each other, or as one line of text. Anything else there is refused.
func (r *reader) preamble(row gridRow) error {
	var said []string
	at := 0
	for i, c := range row.cells {
		if c != "" {
			said = append(said, strings.Clone(c))
			at = i + 1
		}
	}
	if numbers(said) {
		return r.refuse(row.line, 0, "numbers", "the heads of the columns, such as wavelength [nm], isolation [dB]")
	}
	switch len(said) {
	case 0:
		return nil
	case 1:
		return r.comment(row, said[0], false)
	case 2:
		r.Meta = append(r.Meta, KeyValue{Key: strings.TrimSuffix(trimKey(strings.TrimSuffix(said[0], ":")), ":"),
			Value: said[1], Line: row.line})
	default:
		if !triple(said) {
			return r.refuse(row.line, at, quote(said[len(said)-1]),
				"the heads of the columns, such as wavelength [nm], isolation [dB], or a key and its value")
		}
		r.Meta = append(r.Meta, KeyValue{Key: said[0], Value: said[1] + " " + said[2], Line: row.line})
	}
	return r.note(row, strings.Join(said, " "))
}

// triple tells whether fields are a key, a number and its unit, each in a cell of its own.
func triple(said []string) bool {
	if len(said) != 3 || !numbers(said[1:2]) || numbers(said[:1]) {
		return false
	}
	_, ok := lookUp(bare(said[2]))
	return ok
}

// numbers tells whether a row is one of data: its fields begin like numbers, whatever the decimal mark.
func numbers(fields []string) bool {
	for _, f := range fields {
		f = strings.TrimLeft(f, "+-<>=≤≥ ")
		if f == "" || f[0] < '0' || f[0] > '9' || strings.Trim(f, "0123456789.,eE+-") != "" {
			return false
		}
	}
	return len(fields) > 0
}

// keyOf brings a key into the form of those that the program reads. A column and a metadata line may be called alike.
func keyOf(key string) string {
	key = strings.ReplaceAll(normal(trimKey(key)), "polarisation", "polarization")
	switch name := nameOf(key); name {
	case UnitName, LotName, ConditionName, Temperature:
		return name
	}
	return key
}

// dated tells whether a key holds a date that the program reads.
func dated(key string) bool {
	return key == measuredKey || key == referenceKey || strings.HasSuffix(key, dueSuffix)
}

// checkMeta refuses metadata that the program reads and cannot understand, and brings dates to ISO 8601.
func (r *reader) checkMeta() error {
	first := map[string]int{}
	for i := range r.Meta {
		kv := &r.Meta[i]
		key := keyOf(kv.Key)
		date := dated(key)
		if !date && !slices.Contains(singular, key) {
			continue
		}
		if at, ok := first[key]; ok && slices.Contains(singular, key) && !sameMeta(key, r.Meta[at].Value, kv.Value) {
			other := r.Meta[at]
			return r.refuseMeta(*kv, quote(kv.Value)+", which says another "+key+" than "+quote(other.Value)+" on "+
				placeOf(r.Sheet, other.Line, 0), "the "+key+" once, or the same each time")
		}
		first[key] = i
		if kv.Value == "" {
			return r.refuseMeta(*kv, "no value", "one after the colon, or no such line")
		}
		switch {
		case key == polarizationKey:
			switch r.Polarization() {
			case Scrambled, MinMax, FixedUnknown:
			default:
				return r.refuseMeta(*kv, quote(kv.Value), fmt.Sprintf("%s, %s or %s", Scrambled, MinMax, FixedUnknown))
			}
		case key == directionKey:
			if d := normal(kv.Value); d != forward && d != backward {
				return r.refuseMeta(*kv, quote(kv.Value), "forward or backward")
			}
		case date:
			when, err := parseDate(kv.Value)
			if err != nil {
				return r.refuseMeta(*kv, quote(kv.Value), err.Error())
			}
			kv.Value = when.Format(time.DateOnly)
		}
	}
	return nil
}

// sameMeta tells whether two values of a key say the same.
func sameMeta(key, a, b string) bool {
	switch {
	case strings.EqualFold(a, b):
		return true
	case key == Temperature:
		ta, err1 := temperatureOf(a)
		tb, err2 := temperatureOf(b)
		return err1 == nil && err2 == nil && math.Abs(ta-tb) < 1e-6 // kelvin: the rounding of a conversion
	case dated(key):
		da, err1 := parseDate(a)
		db, err2 := parseDate(b)
		return err1 == nil && err2 == nil && da.Format(time.DateOnly) == db.Format(time.DateOnly)
	}
	return false
}

func (r *reader) refuseMeta(kv KeyValue, found, want string) *Refusal {
	return &Refusal{File: r.File.Name, Sheet: r.Sheet, Line: kv.Line, Head: "# " + kv.Key, Found: found, Want: want}
}

// layouts of dates that can be read in one way only. A date with slashes is day first in one country and
// month first in another.
var layouts = []string{
	time.DateOnly, "2006-01-02 15:04", "2006-01-02T15:04", time.DateTime, "2006-01-02T15:04:05", time.RFC3339,
	"2006-01-02 15:04 MST", "2006/01/02", "02.01.2006", "2.1.2006", "02.01.2006 15:04", "2 Jan 2006", "02-Jan-2006",
	"2 January 2006", "January 2, 2006", "Jan 2, 2006", "20060102",
}

func parseDate(text string) (time.Time, error) {
	for _, l := range layouts {
		if when, err := time.Parse(l, text); err == nil {
			return when, nil
		}
	}
	return time.Time{}, fmt.Errorf("a date that can be read in one way, as in 2026-11-18")
}

// Date returns the day that a metadata line gives.
func (t *Table) Date(key string) (time.Time, bool) {
	v, ok := t.Value(key)
	if !ok {
		return time.Time{}, false
	}
	when, err := parseDate(v)
	return when, err == nil
}

// ReferenceAge returns how many days before the measurement the reference trace was taken, as "# measured:"
// and "# reference taken:" say; ok is false where one of them is missing. It is negative when the reference
// was taken later.
func (t *Table) ReferenceAge() (days int, ok bool) {
	taken, ok1 := t.Date(referenceKey)
	when, ok2 := t.Date(measuredKey)
	const day = 24 * time.Hour
	return int(when.Sub(taken).Round(day) / day), ok1 && ok2
}

// metaLevel returns a level in dB from the metadata, 0 without such a line.
func (r *reader) metaLevel(key string) (float64, error) {
	i := slices.IndexFunc(r.Meta, func(kv KeyValue) bool { return keyOf(kv.Key) == key })
	if i < 0 {
		return 0, nil
	}
	kv := r.Meta[i]
	c := column{Column: Column{Name: InsertionLoss, Uncertainty: true}, kind: kinds[InsertionLoss]}
	v, err := metaNumber(&c, kv.Value)
	if err != nil {
		return 0, r.refuseMeta(kv, quote(kv.Value), "a number that is not negative and its unit, as in 0.12 dB")
	}
	return v, nil
}

// metaNumber reads "23 degC" or "0.12 dB" as a field of a column.
func metaNumber(c *column, text string) (float64, error) {
	at := strings.IndexFunc(text, func(r rune) bool { return !strings.ContainsRune("0123456789+-.,", r) })
	if at < 0 {
		at = len(text)
	}
	if err := c.setUnit(strings.TrimSpace(text[at:])); err != nil {
		return 0, err
	}
	number := text[:at]
	var d decimals
	d.see(place{field: number})
	if d.comma != nil {
		number = strings.Replace(number, ",", ".", 1)
	}
	v, err := c.parseReading(number)
	if err == nil && v.value != v.value {
		err = fmt.Errorf("a number")
	}
	return v.value, err
}
