package record

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Number is a number as the report prints it: "30.00" and "30.0" are different Numbers. The empty Number
// says that there is none and is null in JSON.
type Number string

// Decimal returns v with the given number of decimals; the empty Number when v is not finite.
func Decimal(v float64, decimals int) Number {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-") // no negative zero
	}
	return Number(s)
}

// Float returns the number as a float64, NaN when it is empty.
func (n Number) Float() float64 {
	v, err := strconv.ParseFloat(string(n), 64)
	if err != nil {
		return math.NaN()
	}
	return v
}

// MarshalJSON writes the digits as they are, or null.
func (n Number) MarshalJSON() ([]byte, error) {
	if n == "" {
		return []byte("null"), nil
	}
	if !isNumber([]byte(n)) {
		return nil, fmt.Errorf("record: %q is not a JSON number", string(n))
	}
	return []byte(n), nil
}

// UnmarshalJSON keeps the digits as they are written.
func (n *Number) UnmarshalJSON(b []byte) error {
	switch {
	case string(b) == "null":
		*n = ""
	case isNumber(b):
		*n = Number(b)
	default:
		return fmt.Errorf("record: %s where a number or null is expected", b)
	}
	return nil
}

// isNumber tells whether b is a number in JSON's grammar, which has no leading plus, no hexadecimal and
// no NaN.
func isNumber(b []byte) bool {
	return json.Valid(b) && (b[0] == '-' || b[0] >= '0' && b[0] <= '9')
}
