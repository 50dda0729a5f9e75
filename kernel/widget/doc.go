// Package widget draws the controls of a notebook, sliders, lists of choices and check boxes, by the messages of
// Jupyter's widgets, and reads back what a person does to them. It knows the front ends' protocols and neither sockets
// nor cells: messages go in and out as plain data.
//
// There are two protocols. Version 2, of ipywidgets 7 and 8, is in
// https://github.com/jupyter-widgets/ipywidgets/blob/main/packages/schema/messages.md; version 1, of ipywidgets 6, is
// that of the notebook extension jupyter-js-widgets 2.1, which Debian has. Which of them a front end speaks it tells by
// the comm that it opens when it loads; a front end that opens none has no widgets.
package widget
