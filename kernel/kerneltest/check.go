package kerneltest

import (
	"errors"
	"fmt"
	"strings"

	"wedgework/kernel/transport"
	"wedgework/kernel/wire"
)

// Check reports what is wrong with what a kernel has sent about requests, if anything. Of each request: the first
// publication is busy and the last one idle, with no other status between; every publication but those has
// the header of the request as its parent; a request of which the protocol knows a reply has exactly one, on
// the channel and to the peer that it came from. Every message has the shape of its type.
//
// With together the log is one sequence, as that of Sockets is, and the reply must stand between busy and idle. Over
// real sockets nothing orders iopub and shell.
func Check(log []Record, requests []Request, together bool) error {
	var wrong []error
	about := map[string][]Record{}
	for _, r := range log {
		if err := Shape(r.Message); err != nil {
			wrong = append(wrong, err)
		}
		about[r.Parent.ID] = append(about[r.Parent.ID], r)
	}
	for _, q := range requests {
		if err := q.check(about[q.Header.ID], together); err != nil {
			wrong = append(wrong, fmt.Errorf("%s %s: %w", q.Header.Type, q.Header.ID, err))
		}
	}
	return errors.Join(wrong...)
}

// Request is a request and where it went.
type Request struct {
	*wire.Message
	Channel transport.Channel
}

func (q Request) check(about []Record, together bool) error {
	var public, replies []Record
	at := -1
	for i, r := range about {
		if r.Channel == transport.IOPub {
			public = append(public, r)
		} else {
			replies, at = append(replies, r), i
		}
	}
	switch {
	case len(public) < 2 || state(public[0].Message) != "busy" || state(public[len(public)-1].Message) != "idle":
		return fmt.Errorf("published %q, want busy first and idle last", Summary(public))
	case strings.Count(Summary(public), "busy")+strings.Count(Summary(public), "idle") != 2:
		return fmt.Errorf("published %q, want one busy and one idle", Summary(public))
	}
	want, known := strings.CutSuffix(q.Header.Type, "_request")
	if !known {
		if len(replies) > 0 {
			return fmt.Errorf("replied %q, want nothing", Summary(replies))
		}
		return nil
	}
	if len(replies) != 1 || replies[0].Header.Type != want+"_reply" {
		return fmt.Errorf("replied %q, want one %s_reply", Summary(replies), want)
	}
	switch r := replies[0]; {
	case r.Channel != q.Channel:
		return fmt.Errorf("the reply went out on %s, want %s", r.Channel, q.Channel)
	case together && (at == 0 || at == len(about)-1):
		return fmt.Errorf("sent %q, want the reply between busy and idle", Summary(about))
	case together && len(q.Identities) > 0 && (len(r.Identities) == 0 ||
		string(r.Identities[0]) != string(q.Identities[0])):
		return fmt.Errorf("the reply went to %q, want %q", r.Identities, q.Identities)
	}
	return nil
}
