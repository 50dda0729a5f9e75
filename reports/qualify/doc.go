// Package qualify says what a qualification shows: how many units a sample plan tests and what it can prove
// (sample.go), how much a figure of a unit changed between two measurements and how well that is known (change.go), and
// what the tests together come to for each requirement (matrix.go). It reads no file and draws nothing.
package qualify
