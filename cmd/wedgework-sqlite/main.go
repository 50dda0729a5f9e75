// Command wedgework-sqlite writes the records of a folder of reports into a database, index.sqlite, for queries. It is
// a module of its own: its library takes longer to build than all of wedgework.
package main

import (
	"database/sql"
	_ "embed"
	"errors"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"time"

	_ "modernc.org/sqlite"

	"wedgework/reports/files"
	"wedgework/reports/index"
	"wedgework/reports/record"
)

// Name is the database in the folder that it is about.
const Name = "index.sqlite"

//go:embed schema.sql
var schema string

func main() {
	pdfs := flag.Bool("from-pdfs", false, "read the records that the PDFs carry, not the JSON files beside them")
	show := flag.Bool("schema", false, "print the schema and end")
	flag.Usage = func() {
		fmt.Fprintln(flag.CommandLine.Output(), "wedgework-sqlite [-from-pdfs] FOLDER: writes FOLDER/"+Name+
			" from the records of all reports below it")
		flag.PrintDefaults()
	}
	flag.Parse()
	if *show {
		fmt.Print(schema)
		return
	}
	if flag.NArg() != 1 {
		fmt.Fprintln(os.Stderr, "wedgework-sqlite: expected one folder of reports; see wedgework-sqlite -help")
		os.Exit(2)
	}
	from := index.Records
	if *pdfs {
		from = index.PDFs
	}
	problems, err := write(flag.Arg(0), from)
	for _, p := range problems {
		fmt.Fprintf(os.Stderr, "wedgework-sqlite: %s: %s\n", filepath.Join(flag.Arg(0), p.Path), p.Says)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "wedgework-sqlite:", err)
		os.Exit(2)
	}
	if len(problems) > 0 {
		os.Exit(1)
	}
}

// write puts the database of a folder in its place, whole: it is made under another name and renamed.
func write(folder string, from index.Source) ([]index.Problem, error) {
	x, err := index.Build(folder, index.Options{From: from, Now: time.Now()})
	if err != nil {
		return nil, err
	}
	path := filepath.Join(folder, Name)
	if err := ours(path); err != nil {
		return nil, err
	}
	file, err := os.CreateTemp(folder, "."+Name+"-")
	if err != nil {
		return nil, err
	}
	name := file.Name()
	defer os.Remove(name) // fails when it has its place
	if err := file.Close(); err != nil {
		return nil, err
	}
	if err := fill(name, x.Rows); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	if err := os.Chmod(name, 0o644); err != nil {
		return nil, err
	}
	return x.Problems, os.Rename(name, path)
}

// ours refuses to replace what is no database.
func ours(path string) error {
	f, err := files.Open(path)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	defer f.Close()
	const magic = "SQLite format 3\x00" // sqlite.org/fileformat.html, 1.3
	head := make([]byte, len(magic))
	if _, err := f.Read(head); err != nil || string(head) != magic {
		return fmt.Errorf("%s: found a file that is no database, which is not overwritten; move it", path)
	}
	return nil
}

// fill makes a database of rows in an empty file, and brings it to disk.
func fill(path string, rows []index.Row) (err error) {
	db, err := sql.Open("sqlite", path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	db.SetMaxOpenConns(1)
	tx, err := db.Begin()
	if err != nil {
		return err
	}
	defer tx.Rollback() // nothing after Commit
	if _, err := tx.Exec(schema); err != nil {
		return err
	}
	if _, err := tx.Exec(`INSERT INTO meta VALUES (1, 'wedgework-sqlite')`); err != nil {
		return err
	}
	units, err := tx.Prepare("INSERT INTO unit_report VALUES (" + marks(19) + ")")
	if err != nil {
		return err
	}
	values, err := tx.Prepare("INSERT INTO value VALUES (" + marks(13) + ")")
	if err != nil {
		return err
	}
	for i, r := range rows {
		if _, err := units.Exec(i+1, r.Report, r.Number, r.Digest, r.Title, r.Part, r.Program, r.Issued, r.Unit, r.Lot,
			r.Bench, r.Measured, r.Input, string(r.State), r.Verdict, strings.Join(r.Causes, "; "),
			r.Retested, r.Design, r.Condition); err != nil {
			return err
		}
		for _, v := range r.Values {
			if _, err := values.Exec(i+1, v.Kind, v.Name, v.At, v.Rule, number(v.Limit), number(v.Tolerance),
				number(v.Value), number(v.Margin), number(v.Uncertainty), v.Unit, v.Outcome, v.Bound); err != nil {
				return err
			}
		}
	}
	if _, err := tx.Exec(lots); err != nil {
		return err
	}
	return tx.Commit()
}

const lots = `INSERT INTO lot_yield
	SELECT lot, count(*), sum(verdict = 'pass'), sum(verdict = 'fail'), 1.0 * sum(verdict = 'pass') / count(*),
		condition
	FROM current WHERE verdict <> '' GROUP BY lot, condition;
	ANALYZE;`

func marks(n int) string { return strings.TrimSuffix(strings.Repeat("?,", n), ",") }

// number is NULL where there is none.
func number(n record.Number) any {
	v := n.Float()
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return v
}
