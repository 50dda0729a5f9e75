// Package vocab is the vocabulary of cells: the words, units and constants that a notebook is written
// in, and the values they work on.
//
// A word unpacks its arguments, calls optics or reports, and wraps what comes back. It holds no physics
// and no statistics: a formula found here is in the wrong place. What the package does own is the
// manners of the vocabulary: every number is checked for its dimension, and a refusal names the word,
// the parameter, what came, and what was wanted with an example in the user's own units.
//
// One word is one file, word_<name>.go, which registers one value of type Word. Calls, help, completion,
// the printed vocabulary and the tests all read that value, so adding a word edits no other file.
//
// A word that needs something from outside (an input file, a display) asks the Host that rides on the
// Starlark thread. The package opens no file and no socket, and reads no clock.
package vocab
