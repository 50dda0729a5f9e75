package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"wedgework/kernel/kernelspec"
	"wedgework/reports/reason"
)

func (a *app) kernelCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "kernel COMMAND",
		Short: "serve notebooks in Jupyter: install, uninstall, run",
		Long: `kernel makes Jupyter's front ends (notebook, lab, console, nbconvert and others) run the cells of this program.

Files that cells read with measured() are relative to the notebook's folder; readable are that folder and the
folders of --root, and nothing else.`,
		Example: "  wedgework kernel install --user\n  jupyter notebook",
		Args:    cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				return hinted{errors.New("kernel: found no command, expected one of install, run, uninstall"), "see wedgework help kernel"}
			}
			return unknown("command kernel", args[0], commands(c))
		},
	}
	c.AddCommand(a.kernelInstallCommand(), a.kernelUninstallCommand(), a.kernelRunCommand())
	return c
}

// place is where the front ends look for the kernel.
type place struct {
	user   bool
	prefix string
}

func (p *place) flags(c *cobra.Command) {
	c.Flags().BoolVar(&p.user, "user", false, "for the person who runs this command alone; so it is when nothing is said")
	c.Flags().StringVar(&p.prefix, "prefix", "", "for everyone who uses the Jupyter whose programs are in `DIR`/bin")
	c.MarkFlagsMutuallyExclusive("user", "prefix")
}

// kernels is the folder of kernels.
func (p *place) kernels() (string, error) {
	if p.prefix == "" {
		return kernelspec.User()
	}
	prefix, err := filepath.Abs(p.prefix)
	return kernelspec.Below(prefix), err
}

func (a *app) kernelInstallCommand() *cobra.Command {
	var p place
	var roots []string
	c := &cobra.Command{
		Use:   "install [--user | --prefix DIR]",
		Short: "make the kernel known to Jupyter's front ends",
		Long: `install writes a kernel description that starts this very file of the program; when the file moves, install
again. An installed description of the same name is replaced.`,
		Example: "  wedgework kernel install --user\n  wedgework kernel install --prefix /usr/local --root /srv/measurements",
		Args:    exactly(0, "no argument"),
		RunE:    func(*cobra.Command, []string) error { return a.kernelInstall(p, roots) },
	}
	p.flags(c)
	c.Flags().StringArrayVar(&roots, "root", nil, "let notebooks read the files below `DIR` as well")
	return c
}

func (a *app) kernelInstall(p place, roots []string) error {
	program, err := os.Executable()
	if err == nil {
		program, err = filepath.EvalSymlinks(program)
	}
	if err != nil {
		return fmt.Errorf("where this program is cannot be found out: %w", err)
	}
	if kernelspec.Temporary(program) {
		return hinted{
			fmt.Errorf("%s is a temporary file that will be gone when a notebook wants to start it", program),
			"install the program first: in its source, go install ./cmd/wedgework, then $(go env GOPATH)/bin/wedgework kernel install",
		}
	}
	argv := []string{program, "kernel", "run"}
	for _, dir := range roots {
		abs, err := filepath.Abs(dir)
		if err != nil {
			return err
		}
		if info, err := os.Stat(abs); err != nil || !info.IsDir() {
			return fmt.Errorf("--root: found %s, expected a folder", dir)
		}
		argv = append(argv, "--root", abs)
	}
	kernels, err := p.kernels()
	if err != nil {
		return err
	}
	folder, err := kernelspec.Write(kernels, append(argv, "{connection_file}"))
	if errors.Is(err, fs.ErrPermission) {
		return hinted{reason.Plain(err), "wedgework kernel install --user needs no special rights"}
	}
	if err != nil {
		return reason.Plain(err)
	}
	fmt.Fprintln(a.out, folder)
	return nil
}

func (a *app) kernelUninstallCommand() *cobra.Command {
	var p place
	c := &cobra.Command{
		Use:   "uninstall [--user | --prefix DIR]",
		Short: "take the kernel away from Jupyter's front ends",
		Args:  exactly(0, "no argument"),
		RunE: func(*cobra.Command, []string) error {
			kernels, err := p.kernels()
			if err != nil {
				return err
			}
			err = kernelspec.Remove(kernels)
			if errors.Is(err, fs.ErrNotExist) {
				return hinted{
					fmt.Errorf("the kernel is not installed in %s", kernels),
					"jupyter kernelspec list tells where it is; say --prefix DIR for one in DIR/share/jupyter/kernels",
				}
			}
			return err
		},
	}
	p.flags(c)
	return c
}
