// Package wire turns messages of the Jupyter messaging protocol 5.5 into the frames of a multipart message
// and back, and reads connection files.
//
// A message on the wire is
//
//	identity ... | <IDS|MSG> | signature | header | parent_header | metadata | content | buffer ...
//
// where the signature is the HMAC-SHA256, in hexadecimal, of the four frames after it. A Codec makes it
// and checks it; what is unsigned, signed with another key, seen before or not a message at all comes back as
// a *Refused that says which, for the log. Nothing of a refused message may be acted upon.
//
// Content stays JSON until the one who handles the message reads it into a type of its own. JSON cannot
// hold NaN and the infinities: they go out as null.
//
// The package opens no sockets and knows no language of cells. Clock and message ids come from outside (see
// Author), so that what it writes can be compared byte for byte. What it does not do: compress, encrypt,
// fragment, or check that content holds the fields its message type calls for.
package wire
