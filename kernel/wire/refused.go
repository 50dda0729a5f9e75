package wire

import "fmt"

// Reason is why a message was refused.
type Reason string

// The reasons. Malformed covers frames and JSON that are not a message of the protocol.
const (
	Malformed    Reason = "malformed"
	Unsigned     Reason = "unsigned"
	BadSignature Reason = "signature does not match"
	Replayed     Reason = "seen before"
)

// Refused is the error of Codec.Decode: the message must be dropped, and may be logged. Detail holds
// nothing that the sender wrote, so that a log line cannot be forged.
type Refused struct {
	Reason Reason
	Detail string
}

func (r *Refused) Error() string {
	if r.Detail == "" {
		return "message refused: " + string(r.Reason)
	}
	return "message refused: " + string(r.Reason) + ": " + r.Detail
}

func malformed(format string, args ...any) *Refused {
	return &Refused{Malformed, fmt.Sprintf(format, args...)}
}
