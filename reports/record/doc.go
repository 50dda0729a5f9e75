// Package record defines the JSON record that lies beside every report and inside it: who and what was
// examined, from which inputs, with which settings, and every figure the report prints.
//
// The types are the record's own, plain and versioned, so that a record written today can be read when
// the program's insides have changed; whoever holds results converts them. Numbers are kept as printed:
// the record says 38.91 where the report says 38.91, with no digits that nobody vouches for.
package record
