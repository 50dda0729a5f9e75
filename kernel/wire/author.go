package wire

import (
	"crypto/rand"
	"fmt"
	"strconv"
	"sync/atomic"
	"time"
)

// Author makes the messages of one sender: same session and user, each with its own id and date. Its
// methods may be called from any goroutine when Now and NewID may.
type Author struct {
	Session string
	User    string
	Now     func() time.Time
	NewID   func() string // different at every call
}

// NewAuthor returns an author with a new random session, the system's clock and ids counted within the
// session.
func NewAuthor(user string) *Author {
	session := Random()
	return &Author{Session: session, User: user, Now: time.Now, NewID: Counted(session + "_")}
}

// Random returns 128 random bits in the form of a UUID, version 4.
func Random() string {
	var b [16]byte
	rand.Read(b[:]) // never fails, see its documentation
	b[6], b[8] = b[6]&0x0f|0x40, b[8]&0x3f|0x80
	return fmt.Sprintf("%x-%x-%x-%x-%x", b[:4], b[4:6], b[6:8], b[8:10], b[10:])
}

// Counted returns a source of ids: prefix1, prefix2 and so on.
func Counted(prefix string) func() string {
	var n atomic.Int64
	return func() string { return prefix + strconv.FormatInt(n.Add(1), 10) }
}

// Reply returns a message for the peer that sent the request, with the request as its parent: a reply,
// or a request to that peer's stdin. The content is encoded by JSON.
func (a *Author) Reply(request *Message, msgType string, content any) (*Message, error) {
	m, err := a.message(request, msgType, content)
	if err != nil {
		return nil, err
	}
	m.Identities = request.Identities
	return m, nil
}

// Publication returns a message for every subscriber, with the request as its parent; a nil request is for
// what no request caused. The topic is the message type. The content is encoded by JSON.
func (a *Author) Publication(request *Message, msgType string, content any) (*Message, error) {
	m, err := a.message(request, msgType, content)
	if err != nil {
		return nil, err
	}
	m.Identities = [][]byte{[]byte(msgType)}
	return m, nil
}

// Welcome returns the message that greets a subscription to a topic. No request has caused it.
func (a *Author) Welcome(topic string) (*Message, error) {
	m, err := a.message(nil, "iopub_welcome", map[string]any{"subscription": topic})
	if err != nil {
		return nil, err
	}
	m.Identities = [][]byte{[]byte(topic)}
	return m, nil
}

func (a *Author) message(request *Message, msgType string, content any) (*Message, error) {
	data, err := JSON(content)
	if err != nil {
		return nil, fmt.Errorf("%s: content: %w", msgType, err)
	}
	m := &Message{Header: a.Header(msgType), Content: data}
	if request != nil {
		m.Parent = request.Header
	}
	return m, nil
}

// Header returns a new header with an id and the date of now, in UTC to the microsecond.
func (a *Author) Header(msgType string) Header {
	return Header{
		ID: a.NewID(), Session: a.Session, User: a.User,
		Date: a.Now().UTC().Format("2006-01-02T15:04:05.000000Z"),
		Type: msgType, Version: Version,
	}
}
