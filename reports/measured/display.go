package measured

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"
)

// formats shows the numbers of a sheet as whoever looks at the sheet sees them.
type formats struct {
	book   *excelize.File
	sheet  string
	styles map[int]*format
}

// format is what a style does to numbers.
type format struct {
	percentage, date bool
	plain            bool // what is shown is a rounding of the number, whatever the number
}

func (f *formats) of(cell string) (*format, error) {
	id, err := f.book.GetCellStyle(f.sheet, cell)
	if err != nil {
		return nil, err
	}
	if is, ok := f.styles[id]; ok {
		return is, nil
	}
	style, err := f.book.GetStyle(id)
	if all := f.book.Styles; id == 0 && (all == nil || all.CellXfs == nil) {
		style, err = &excelize.Style{}, nil // a workbook that states no formats shows numbers as they are
	}
	if err != nil {
		return nil, err
	}
	is := &format{percentage: isPercentage(style), date: isDate(style), plain: isPlain(style)}
	f.styles[id] = is
	return is, nil
}

// shown returns what a cell means: a number with all its digits where the sheet shows a rounding of it; what the sheet
// shows where that is something else, as for a serial number in the format 0000 or a bound in ">"0.
func (f *formats) shown(cell, value string) (string, error) {
	number, err := strconv.ParseFloat(value, 64)
	if err != nil {
		return value, nil // a text, and an error value
	}
	kind, err := f.book.GetCellType(f.sheet, cell)
	switch {
	case err != nil:
		return "", fmt.Errorf("a cell that cannot be read (%w)", err)
	case kind == excelize.CellTypeBool:
		return strings.ToUpper(strconv.FormatBool(value == "1")), nil // refused where a number is due
	// texts
	case kind == excelize.CellTypeSharedString || kind == excelize.CellTypeInlineString ||
		kind == excelize.CellTypeFormula:
		return value, nil
	}
	is, err := f.of(cell)
	switch {
	case err != nil:
		return "", fmt.Errorf("a cell whose format cannot be read (%w)", err)
	case is.percentage:
		return strconv.FormatFloat(100*number, 'g', 12, 64) + " %", nil // as the sheet shows it
	case is.date:
		day, err := isoDate(f.book, number)
		if err != nil {
			return "", errors.New("the date " + value)
		}
		return day, nil
	case is.plain:
		return fifteen(value, number), nil
	}
	text, err := f.book.GetCellValue(f.sheet, cell, excelize.Options{RawCellValue: false})
	if err != nil {
		return "", fmt.Errorf("a cell whose format cannot be read (%w)", err)
	}
	text = strings.TrimSpace(text)
	switch {
	case text == "":
		return "", errors.New("the number " + value + ", which its format hides")
	case rounds(text, number):
		return fifteen(value, number), nil
	}
	return text, nil
}

// fifteen takes off the digits beyond the fifteenth, which spreadsheets do not have and files do: 26.109999999999999.
func fifteen(value string, number float64) string {
	if len(value) <= 16 {
		return value
	}
	return strconv.FormatFloat(number, 'g', 15, 64)
}

// rounds tells whether a text is a rounding of a number: plain digits, with or without marks between thousands or
// brackets around a negative one.
func rounds(text string, number float64) bool {
	text = strings.NewReplacer(",", "", "\u00a0", "").Replace(text)
	if inner, ok := strings.CutPrefix(text, "("); ok && strings.HasSuffix(inner, ")") {
		text = "-" + strings.TrimSuffix(inner, ")")
	}
	whole, _, _ := strings.Cut(strings.TrimLeft(text, "+-"), ".")
	v, err := parseNumber(text)
	if err != nil || len(whole) > 1 && whole[0] == '0' {
		return false
	}
	last := math.Pow10(-shapeOf(text).decimals) // the last digit shown
	if i := strings.IndexAny(text, "eE"); i >= 0 {
		power, _ := strconv.Atoi(strings.TrimPrefix(text[i+1:], "+"))
		last *= math.Pow10(power)
	}
	return math.Abs(v-number) <= 0.5000001*last+1e-15*math.Abs(number)
}

// isPlain tells whether a format shows roundings alone: the built-in ones 0 to 4, 11 and 48 (ECMA-376, 18.8.30), and
// texts.
func isPlain(style *excelize.Style) bool {
	if style.CustomNumFmt != nil {
		return strings.EqualFold(*style.CustomNumFmt, "general") || *style.CustomNumFmt == "@"
	}
	switch style.NumFmt {
	case 0, 1, 2, 3, 4, 11, 48, 49:
		return true
	}
	return false
}

// isPercentage tells whether numbers of a style are shown as percentages: the built-in formats 9 and 10 (ECMA-376,
// 18.8.30), or a format with a percent sign.
func isPercentage(style *excelize.Style) bool {
	return style.NumFmt == 9 || style.NumFmt == 10 || style.CustomNumFmt != nil && strings.Contains(*style.CustomNumFmt,
		"%")
}

// isDate tells whether numbers of a style are shown as dates or times: the built-in formats 14 to 22 and 45 to
// 47 (ECMA-376, 18.8.30), or a format with a day or a year in it.
func isDate(style *excelize.Style) bool {
	if n := style.NumFmt; n >= 14 && n <= 22 || n >= 45 && n <= 47 {
		return true
	}
	if style.CustomNumFmt == nil {
		return false
	}
	format, quoted := *style.CustomNumFmt, false
	plain := strings.Map(func(r rune) rune {
		switch {
		case r == '"':
			quoted = !quoted
			return -1
		case quoted:
			return -1
		}
		return r
	}, strings.ToLower(format))
	for strings.Contains(plain, "[") && strings.Contains(plain, "]") { // colours and conditions
		open, shut := strings.Index(plain, "["), strings.Index(plain, "]")
		if shut < open {
			break
		}
		plain = plain[:open] + plain[shut+1:]
	}
	return strings.ContainsAny(plain, "yd")
}

var errNoDate = errors.New("no date")

// isoDate writes a date of a workbook, a number of days, as ISO 8601 has it.
func isoDate(book *excelize.File, serial float64) (string, error) {
	props, err := book.GetWorkbookProps()
	if err != nil {
		return "", err
	}
	when, err := excelize.ExcelDateToTime(serial, props.Date1904 != nil && *props.Date1904)
	if err != nil || serial < 0 {
		return "", errNoDate
	}
	if when = when.Round(time.Second); when.Equal(when.Truncate(24 * time.Hour)) {
		return when.Format(time.DateOnly), nil
	}
	return when.Format(time.DateTime), nil
}
