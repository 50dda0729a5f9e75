package index

import (
	"encoding/json"
	"path/filepath"
	"time"

	"wedgework/reports/files"
)

// CacheName is the file in the folder that remembers what its records hold, so that only those that changed are read
// again, and what the last index said. Without it all are read, and nothing counts as changed.
const CacheName = ".wedgework-index"

// Cache is what an index remembers.
type Cache struct {
	Version int               `json:"version"`           // of what Files say of a record
	Written int64             `json:"written"`           // Unix time in nanoseconds at which the reading began
	Files   map[string]cached `json:"files"`             // by path
	Changes []Change          `json:"changes,omitempty"` // of the last run that changed anything
	Changed string            `json:"changed,omitempty"` // when that was
	Last    map[string]Last   `json:"last"`              // what each report was, by key

	// Plans is what the run of each plan knew when it last wrote the index, by the path of the plan below the folder.
	Plans map[string]Stood `json:"plans,omitempty"`

	next map[string]cached
}

// Stood is what an index remembers of a plan: a hash of all its states, and those that are not current.
type Stood struct {
	Standing string     `json:"standing"`
	Not      []Standing `json:"not,omitempty"`
}

// Last is what the index said of a row.
type Last struct {
	Digest  string `json:"digest,omitempty"`
	Verdict string `json:"verdict,omitempty"`
	State   State  `json:"state"`
}

type cached struct {
	Of   files.Fingerprint `json:"of"`
	Rows []Row             `json:"rows,omitempty"`
}

// settled is how long before it was read a file must have been written for its times to tell it from what is written
// later: file systems count time in steps of up to two seconds.
const settled = 2 * time.Second

// rowsVersion changes with what Rows takes from a record: what an earlier program remembered of it lacks the rest.
const rowsVersion = 2

// openCache reads what the last index of a folder remembered; nothing where there is none or it is no such file.
func openCache(folder string) *Cache {
	c := &Cache{}
	if data, err := files.Read(filepath.Join(folder, CacheName)); err == nil && json.Unmarshal(data, c) != nil {
		c = &Cache{}
	}
	if c.Version != rowsVersion {
		c.Version, c.Files = rowsVersion, nil
	}
	return c
}

// same returns what a file held, when it has not been written since. A nil Cache remembers nothing.
func (c *Cache) same(rel string, now files.Fingerprint) (scanned, bool) {
	if c == nil {
		return scanned{}, false
	}
	old, ok := c.Files[rel]
	if !ok || old.Of != now || now.Latest() > c.Written-settled.Nanoseconds() {
		return scanned{}, false
	}
	return scanned{print: now, rows: old.Rows}, true
}

// keep remembers what a file holds, until the index is written.
func (c *Cache) keep(rel string, s scanned) {
	if c == nil || s.problem != "" {
		return
	}
	if c.next == nil {
		c.next = map[string]cached{}
	}
	c.next[rel] = cached{s.print, s.rows}
}
