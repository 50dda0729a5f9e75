package pdf

import (
	"maps"
	"slices"
)

// signedInFront reports whether the signatures of the first section end on the first page.
func (w *writer) signedInFront(opening, section []box) bool {
	last := -1
	for i, b := range section {
		if b.block == signatureBlock {
			last = i
		}
	}
	if last < 0 {
		return true
	}
	return measure(slices.Concat(opening, section[:last+1]), false, 0) <= w.room()+hair
}

// before is what a section that is laid out anew must not have left behind.
type before struct {
	kids, level, cutHeads, invalid int
	missing                        map[rune]int
}

// remember keeps what forget goes back to: the section that follows may be laid out more than once.
func (w *writer) remember() {
	w.before = before{kids: len(w.tags.root.kids), level: w.tags.level, cutHeads: w.cutHeads,
		missing: maps.Clone(w.fonts.missing), invalid: w.fonts.invalid}
}

// forget undoes what laying out a section did beside its boxes: elements of the tree, and what is warned of.
func (w *writer) forget() {
	w.tags.root.kids = w.tags.root.kids[:w.before.kids]
	w.tags.level, w.cutHeads = w.before.level, w.before.cutHeads
	w.fonts.missing, w.fonts.invalid = maps.Clone(w.before.missing), w.before.invalid
}
