// Package kernel is the notebook kernel between its sockets and its interpreter: requests of the Jupyter
// messaging protocol 5.5 come in, cells run, replies and outputs go out.
//
// The two sides never meet. Sockets is what the kernel needs of a transport, Interpreter what it needs of a
// language; the package knows neither ZeroMQ nor Starlark, and the tests put stand-ins of both around it
// (package kerneltest).
//
//   - kernel.go serves the channels: cells one after another on shell, and beside them what must not wait for a
//     cell on control;
//   - dispatch.go has the table of requests, and puts busy and idle around each;
//   - handle_<request>.go answers one request; a new one is such a file and a row of the table;
//   - output.go makes messages of what a cell shows;
//   - abort.go drops what was queued behind a cell that failed.
//
// Every request gets exactly one busy and one idle with its header as their parent, and its reply between
// them. A message that is not understood is logged and answered as far as the protocol has an answer; none
// ends the kernel.
package kernel
