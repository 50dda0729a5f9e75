package index

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"wedgework/reports/files"
	"wedgework/reports/fileset"
	"wedgework/reports/index/table"
	"wedgework/reports/reason"
)

// PageName is the page of an index; its tables are those of package table.
const PageName = "index.html"

// Write puts an index into its folder, all of its files or none. Files of those names that no index wrote are an error,
// and stay.
func (x *Index) Write(folder string) error {
	if err := own(folder); err != nil {
		return err
	}
	page, err := x.Page()
	if err != nil {
		return err
	}
	units, values := x.tables()
	set := []fileset.File{
		{Path: filepath.Join(folder, table.Units), Data: units},
		{Path: filepath.Join(folder, table.Values), Data: values},
		{Path: filepath.Join(folder, PageName), Data: page},
	}
	if x.cache != nil {
		text, err := json.Marshal(x.cache)
		if err != nil {
			return err
		}
		set = append([]fileset.File{{Path: filepath.Join(folder, CacheName), Data: text}}, set...)
	}
	return fileset.Replace(set)
}

// own refuses a folder where files of the names of an index are something else.
func own(folder string) error {
	if _, err := intact(folder); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	for name := range table.Heads {
		at := filepath.Join(folder, name)
		_, err := os.Lstat(at)
		switch {
		case errors.Is(err, fs.ErrNotExist):
		case err != nil:
			return reason.Plain(err)
		case !table.Is(at):
			return fmt.Errorf("%s: found a file that is no table of an index, which is not overwritten; move it", at)
		}
	}
	return nil
}

const ending = "<!-- SHA-256 of what stands before: "

// seal ends a page with the hash of itself.
func seal(page []byte) []byte { return append(page, endOf(page)...) }

func endOf(page []byte) string {
	sum := sha256.Sum256(page)
	return ending + hex.EncodeToString(sum[:]) + " -->\n"
}

// headOfPage is within how many bytes of a page that says what it is stands.
const headOfPage = 1 << 16 // a line for each plan of the folder

// intact returns the page of a folder, when it is as an index wrote it.
func intact(folder string) ([]byte, error) {
	at := filepath.Join(folder, PageName)
	page, err := files.Read(at)
	if err != nil {
		return nil, err
	}
	cut := bytes.LastIndex(page, []byte(ending))
	if !bytes.Contains(page[:min(len(page), headOfPage)], []byte(generator)) || cut < 0 ||
		string(page[cut:]) != endOf(page[:cut]) {
		return nil, fmt.Errorf("%s: found a page that is no index of reports, or was changed; it is not overwritten; "+
			"move it", at)
	}
	return page, nil
}

// SeenName is the file in the folder that says how the page looked when its content was last found to be what an index
// wrote, so that a page of many megabytes is not read where nothing is to be done. Without it the page is read.
const SeenName = ".wedgework-index-seen"

// pageSeen is what stands in that file.
type pageSeen struct {
	Standings []string          `json:"standings"` // what the runs of plans knew that found the page up to date
	Page      files.Fingerprint `json:"page"`
}

// UpToDate reports whether the index of a folder needs no writing after a run of the plan of this name that made no
// report: it was made after a run that left every report in the same state.
func UpToDate(folder, name string, plan []Standing) bool {
	now := time.Now().Add(-settled).UnixNano()
	print, sure, err := (&files.Looker{}).Look(filepath.Join(folder, PageName))
	if err != nil {
		return false
	}
	is := standing(name, plan)
	at := filepath.Join(folder, SeenName)
	was := pageSeen{Page: print}
	if text, err := files.Read(at); err != nil || json.Unmarshal(text, &was) != nil || was.Page != print {
		was = pageSeen{Page: print}
	}
	if sure && slices.Contains(was.Standings, is) {
		return true
	}
	page, err := intact(folder)
	if err != nil || !bytes.Contains(page[:min(len(page), headOfPage)], []byte(stands(is))) {
		return false
	}
	was.Standings = append(was.Standings, is)
	if text, err := json.Marshal(was); err == nil && sure && print.Latest() < now {
		_ = fileset.Replace([]fileset.File{{Path: at, Data: text}}) // or the page is read the next time too
	}
	return true
}
