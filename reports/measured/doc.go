// Package measured turns files of readings into one table with units and provenance.
//
// Read takes the canonical sweep: comma-separated UTF-8 text with a unit in every head, "# key: value"
// lines at the top, a row per wavelength and temperature. A file is taken whole or refused whole, and a
// refusal says where (file, line, column), what was found and what was expected. Nothing is guessed: a
// number without a unit, a comma for a decimal point, a row of the wrong length are all refusals. What is
// merely unknown (columns, metadata keys, remarks) is kept and listed.
//
// Values are SI in the table except levels, which are in dB; losses are positive. A reading that was not
// taken is NaN. The package knows nothing of models or limits, and judges no reading.
package measured
