// Package words says in sentences what the other stages found: the three verdicts, the diagnosis, and the notes on how
// the numbers were obtained. It computes no figure.
package words
