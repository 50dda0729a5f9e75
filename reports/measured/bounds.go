package measured

import "fmt"

// What a file may hold. The bounds are choices: a hundred sweeps of ten thousand points need less of everything.
const (
	mostFile     = 256 << 20 // bytes
	mostMemory   = 1 << 30   // bytes, of the file, its text and its columns together
	mostMultiple = 8         // times the size of the file, in memory, for files of more than smallFile
	smallFile    = 8 << 20
	mostLine     = 1 << 20 // bytes of one line
	mostColumns  = 1024
	mostNotes    = 10_000  // metadata lines, remarks and rows above the heads
	mostText     = 1 << 20 // bytes of those together
	mostNames    = 10_000  // different units, or lots

	// A workbook unpacks into much more than its file; each of its elements takes some 200 bytes in the library.
	mostUnpacked   = 256 << 20 // bytes
	mostElements   = 3_000_000
	mostAttributes = 8_000_000
	mostRows       = 200_000
	mostWide       = 256  // columns
	mostMerged     = 1000 // ranges: each is looked at for every cell
)

// checkSize refuses a file that is too large to be looked at.
func checkSize(f File) error {
	if len(f.Data) > mostFile {
		return &Refusal{File: f.Name, Found: fmt.Sprintf("%d MB", len(f.Data)>>20),
			Want: fmt.Sprintf("a file of at most %d MB", mostFile>>20)}
	}
	return nil
}

// fits refuses a table whose columns would take more memory than a file of its size may: rows of hardly anything but
// separators.
func (r *reader) fits(rows int) error {
	row := 48 // line, wavelength, temperature, and rows put in order thrice while repeats are looked for
	for _, c := range r.columns {
		switch {
		case c.blank:
		case c.kind.raw: // with what losses are computed from it; TestRawRowsInMemory
			row += 28
		case c.Name == "" || c.kind.text:
			row += 16
		default:
			row += 8
		}
	}
	held := len(r.File.Data)
	if !r.grid.shares {
		held += len(r.grid.text)
	}
	most := min(mostMemory, mostMultiple*max(len(r.File.Data), smallFile))
	if need := held + rows*row; need > most {
		return r.refuse(0, 0, fmt.Sprintf("%d rows of %d columns, which need %d MB", rows, len(r.columns), need>>20),
			fmt.Sprintf("a table that needs at most %d MB: leave out empty columns, or split the file", most>>20))
	}
	return nil
}

// note counts a metadata line or remark of so many bytes, and refuses one too many.
func (r *reader) note(row gridRow, text string) error {
	r.notes++
	r.noted += len(text)
	if r.notes > mostNotes || r.noted > mostText {
		return r.refuse(row.line, 0, "more metadata and comments", fmt.Sprintf("at most %d lines and %d MB of them",
			mostNotes, mostText>>20))
	}
	return nil
}
