// Package notebook reads, checks and writes Jupyter notebooks (nbformat 4), and defines the output of a
// cell, which the interactive kernel and the headless rerun share.
package notebook
