// Package transport holds the five sockets of a kernel: shell, control and stdin (ROUTER), iopub (XPUB) and
// the heartbeat (REP), over tcp and ipc. It is the only package that knows the socket library.
//
// The library's own sockets do not suffice for a kernel: one peer that stops reading stalls all the others, a
// peer that is silent in the handshake keeps new ones out, and a frame with an absurd length ends the
// process before any signature has been looked at. So the library does here what it does well, ZMTP on one
// connection (zmq4.Open and zmq4.Conn: greeting, handshake, frames), and this package does what is between
// connections:
//
//   - accept.go takes connections in, each on a goroutine and under a deadline;
//   - link.go says which of too many gives way: none that has sent a signed message, and of the others first what other
//     users of the machine have opened, what is half open and what is silent;
//   - budget.go counts the memory of messages as their bytes come in, not as they are announced; strangers have a part;
//   - guard.go stands between the network and the library, lets only frames of sensible length through, and
//     answers heartbeats of the protocol;
//   - queue.go gives each peer a bounded queue of its own for what we send;
//   - directory.go finds the peer that a reply is for, also when two peers use one identity;
//   - publisher.go sends to subscribers, and makes up to a late one what it missed of its own first requests;
//   - drain, in close.go, sees that what was sent arrives before the process may end.
//
// Memory and the number of connections are bounded (see Options). A message is only handed on when wire has
// accepted it; anything else is dropped and logged.
//
// What the package does not do: dial, encrypt, or authenticate beyond the signatures of wire. ZMTP before 3.0 and
// mechanisms other than NULL are refused.
package transport
