package notebook

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"regexp"
)

var idPattern = regexp.MustCompile(`^[a-zA-Z0-9_-]{1,64}$`)

func validID(s string) bool { return idPattern.MatchString(s) }

// settleIDs refuses ids that two cells share and gives an id to each cell without one.
func (nb *Notebook) settleIDs() error {
	first := map[string]int{}
	for i, c := range nb.Cells {
		if c.ID == "" {
			continue
		}
		if at, ok := first[c.ID]; ok {
			return &Invalid{Cell: i + 1, Field: "id", Found: fmt.Sprintf("%q, the id of cell %d", c.ID, at),
				Want: "an id of its own"}
		}
		first[c.ID] = i + 1
	}
	for i := range nb.Cells {
		c := &nb.Cells[i]
		for n := 0; c.ID == ""; n++ {
			if id := makeID(i, n, c.Source); first[id] == 0 {
				c.ID, first[id] = id, i+1
			}
		}
	}
	return nil
}

// makeID derives an id from a cell's place and text: the same notebook always gets the same ids. n tells
// apart tries whose ids were taken.
func makeID(index, n int, source string) string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%d %d %s", index, n, source))
	return hex.EncodeToString(sum[:4])
}
