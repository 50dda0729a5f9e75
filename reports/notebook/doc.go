// Package notebook reads, checks and writes Jupyter notebooks (nbformat 4), and defines the output of a
// cell, which the interactive kernel and the headless rerun share.
//
// Reading checks what the rest of the program relies on and refuses the rest with the cell and the field;
// what nbformat allows and this program does not know (metadata, unknown fields) is kept and written back.
// Writing follows nbformat's own style byte for byte where Go's JSON can: one space of indent, sorted
// keys, texts as lists of lines, a newline at the end. The same notebook always gives the same bytes.
//
// Whether the notebook is meant for this kernel is for callers to ask (Notebook.Kernel, Notebook.Language).
// Nothing here runs a cell.
package notebook
