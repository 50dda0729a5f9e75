// Package measured turns files of readings into one table with units and provenance.
//
// Read takes a text (comma, semicolon, tab or aligned columns; UTF-8, UTF-16 or Windows-1252; decimal point or
// comma) or an .xlsx workbook, with a unit for every column and a row per wavelength and temperature. What the
// file holds shows in its heads: losses and delays; powers, whose losses follow from a reference trace
// (Referenced); powers of four launch states, from which mean and extreme losses and the PDL follow by the Mueller
// method; swept Jones matrices, from which PDL and DGD follow. A file is taken whole or refused whole, and a
// refusal says where (file, line and column, or sheet and cell), what was found and what was expected. Nothing
// is guessed: a number without a unit, a comma that may stand for thousands, a row of the wrong length are
// refusals. What is merely unknown (columns, metadata keys, remarks) is kept and listed.
//
// Repeated readings stay rows of their own, numbered; Averaged takes their means and keeps their spread. Collect
// sorts files into units. Every row knows the rows of the files it came from.
//
// Values are SI in the table except levels, which are in dB, and powers, which are in dBm; losses are positive. A
// reading that was not taken is NaN. The package knows nothing of models or limits, and judges no reading.
package measured
