package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"

	"github.com/gofrs/flock"
	"github.com/spf13/cobra"

	"wedgework/kernel/kernelspec"
	"wedgework/reports/files"
	"wedgework/reports/pdf"
	"wedgework/reports/reason"
	"wedgework/reports/regenerate"
)

func (a *app) doctorCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "doctor [PLAN.toml]",
		Short: "check what the program needs of this machine, and say how to mend it",
		Long: `doctor checks the registration with Jupyter, the front end's widgets, the fonts, the right to write and to lock in
the folder of reports, the clock, and Slurm. With a plan it checks the plan, its fonts and the folders of its reports;
without one, the current folder. Nothing that it writes is left.

Exit status: 0 nothing is wrong; 1 something is; lines that begin with "note" are about what not everybody needs.`,
		Example: "  wedgework doctor plan.toml",
		Args:    cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			a.doctor(c.Context(), args)
			return nil
		},
	}
}

// finding is what one check found.
type finding struct {
	what string // was checked
	good string // what is as it should be
	err  error  // what is wrong; nil for nothing
	mend string // how to mend it
	note bool   // not everybody needs it
}

func (a *app) doctor(ctx context.Context, args []string) {
	folders := []string{"."}
	all := []finding{checkKernel(), checkWidgets(ctx)}
	var fonts []string
	if len(args) > 0 {
		plan, f := checkPlan(args[0])
		all = append(all, f)
		if plan != nil {
			folders = plan.Folders()
			fonts = plan.FontFiles()
		}
	}
	all = append(all, checkFonts(fonts))
	for _, folder := range folders {
		all = append(all, checkFolder(folder)...)
	}
	all = append(all, checkSlurm(ctx))
	for _, f := range all {
		switch {
		case f.err == nil:
			fmt.Fprintf(a.out, "good   %s: %s\n", f.what, f.good)
		case f.note:
			fmt.Fprintf(a.out, "note   %s: %v\n       %s\n", f.what, f.err, f.mend)
		default:
			fmt.Fprintf(a.out, "wrong  %s: %v\n       %s\n", f.what, f.err, f.mend)
			a.status = someFail
		}
	}
}

// checkKernel looks for the description by which front ends start the kernel, and for the program that it names.
func checkKernel() finding {
	f := finding{what: "Jupyter kernel", note: true, mend: "wedgework kernel install"}
	kernels, err := kernelspec.User()
	if err != nil {
		f.err = err
		return f
	}
	places := []string{kernels, kernelspec.Below("/usr/local"), kernelspec.Below("/usr")}
	for _, place := range places {
		path := filepath.Join(place, kernelspec.Name, "kernel.json")
		data, err := files.ReadUpTo(path, 1<<20)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		var spec struct{ Argv []string }
		if err == nil {
			err = json.Unmarshal(data, &spec)
		}
		if err == nil && len(spec.Argv) == 0 {
			err = errors.New("found no command, expected argv")
		}
		f.note = false // somebody wants it
		if err == nil {
			if _, err = exec.LookPath(spec.Argv[0]); err != nil {
				err = fmt.Errorf("it starts %s: %w", spec.Argv[0], reason.Bare(err))
			}
		}
		if err != nil {
			f.err = fmt.Errorf("%s: %w", path, reason.Bare(err))
		} else {
			f.good = fmt.Sprintf("%s starts %s", path, spec.Argv[0])
		}
		return f
	}
	f.err = fmt.Errorf("not registered in %s", strings.Join(places, ", "))
	return f
}

// checkWidgets looks for the widgets of the front end, where Jupyter says that it keeps its extensions.
func checkWidgets(ctx context.Context) finding {
	f := finding{what: "Jupyter widgets", note: true,
		mend: "install ipywidgets where Jupyter is (pip install ipywidgets, or python3-ipywidgets); only explore() needs it"}
	ctx, done := context.WithTimeout(ctx, 30*time.Second)
	defer done()
	out, err := exec.CommandContext(ctx, "jupyter", "--paths", "--json").Output()
	if err != nil {
		f.err = fmt.Errorf("jupyter --paths: %w", err)
		return f
	}
	var paths struct{ Data []string }
	if err := json.Unmarshal(out, &paths); err != nil {
		f.err = fmt.Errorf("jupyter --paths: %w", err)
		return f
	}
	for _, data := range paths.Data {
		for _, name := range []string{"labextensions/@jupyter-widgets/jupyterlab-manager",
			"nbextensions/jupyter-js-widgets"} {
			if path := filepath.Join(data, filepath.FromSlash(name)); isFolder(path) {
				f.good = path
				return f
			}
		}
	}
	f.err = fmt.Errorf("not found below %s", strings.Join(paths.Data, ", "))
	return f
}

func isFolder(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.IsDir()
}

// checkPlan reads a plan and counts the files that its patterns find.
func checkPlan(path string) (*regenerate.Plan, finding) {
	f := finding{what: "plan", mend: "wedgework help regenerate shows what a plan may hold"}
	plan, err := readPlan(path)
	if err != nil {
		f.err = err
		return nil, f
	}
	inputs, _ := plan.Inputs()
	f.good = fmt.Sprintf("%s: %d files", path, len(inputs))
	for _, in := range inputs {
		file, err := files.Open(in)
		if err != nil {
			f.err, f.mend = reason.Plain(err), "give the user who runs the plan the right to read it, or mend the plan"
			break
		}
		file.Close()
	}
	return plan, f
}

// checkFonts draws a line with each font.
func checkFonts(paths []string) finding {
	f := finding{what: "fonts", mend: "give a TrueType font in the plan: fonts = [\"FONT.ttf\"]"}
	for _, path := range paths {
		data, err := files.Read(path)
		if err == nil {
			if err = (pdf.Font{Name: filepath.Base(path), Data: data}).Check(); err != nil {
				err = fmt.Errorf("%s: %w", path, err)
			}
		}
		if err != nil {
			f.err = err
			return f
		}
	}
	f.good = fmt.Sprintf("those of the program, and %d of the plan", len(paths))
	return f
}

// skew is by how much the clock of a file server may differ from this machine's. A choice: watching and the index tell
// files by their times.
const skew = 2 * time.Second

// checkFolder writes a file, renames it, locks it and looks at its time.
func checkFolder(folder string) []finding {
	write := finding{what: "write access", good: folder,
		mend: "give the user who runs the plan the right to write there"}
	clock := finding{what: "clock", mend: "let time be set by NTP, here and on the server of the folder (timedatectl " +
		"set-ntp true)"}
	if write.err = os.MkdirAll(folder, 0o777); write.err != nil {
		write.err = reason.Plain(write.err)
		return []finding{write}
	}
	file, err := os.CreateTemp(folder, ".wedgework-doctor-")
	if err != nil {
		write.err = reason.Plain(err)
		return []finding{write}
	}
	name := file.Name()
	now := time.Now()
	_, err = file.WriteString("test")
	err = errors.Join(err, file.Sync(), file.Close())
	info, statErr := os.Stat(name)
	lock := flock.New(name)
	got, lockErr := lock.TryLock()
	if got {
		lockErr = lock.Unlock()
	}
	renamed := os.Rename(name, name+"-2")
	write.err = errors.Join(err, statErr, renamed, os.Remove(name+"-2"))
	if write.err == nil && lockErr != nil {
		write.err = fmt.Errorf("%s: files cannot be locked: %w", folder, lockErr)
		write.mend = "mount the share with locks (NFS: version 4, without nolock); two runs would not see each other"
	}
	if info != nil {
		off := info.ModTime().Sub(now)
		clock.good = fmt.Sprintf("%s, files in %s differ by %s", now.Format("2006-01-02 15:04 MST"), folder,
			off.Round(time.Millisecond))
		if off.Abs() > skew {
			clock.err = fmt.Errorf("files in %s are written at %s, %s off", folder, info.ModTime().Format(time.RFC3339),
				off.Round(time.Second))
		}
	}
	if now.Year() < built {
		clock.err = fmt.Errorf("it is set to %s", now.Format(time.DateOnly))
	}
	return []finding{write, clock}
}

// built is the year before which the program was not there.
const built = 2026

// checkSlurm asks for a partition that takes jobs.
func checkSlurm(ctx context.Context) finding {
	f := finding{what: "Slurm", note: true, mend: "only regenerate --slurm needs it; see that sinfo lists a partition"}
	if _, err := exec.LookPath("sbatch"); err != nil {
		f.err = errors.New("there is no sbatch")
		return f
	}
	ctx, done := context.WithTimeout(ctx, 30*time.Second)
	defer done()
	out, err := exec.CommandContext(ctx, "sinfo", "--noheader", "--format=%P %a %D").CombinedOutput()
	first, _, _ := strings.Cut(strings.TrimSpace(string(out)), "\n")
	switch {
	case err != nil:
		f.err = fmt.Errorf("sinfo: %w: %s", err, first)
	case first == "":
		f.err = errors.New("sinfo lists no partition")
	default:
		f.good = first
	}
	return f
}
