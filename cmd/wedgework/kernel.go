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
				return hinted{errors.New("kernel: found no command, expected one of install, run, uninstall"),
					"see wedgework help kernel"}
			}
			return unknown("command", "kernel "+args[0], paths(c.Root()))
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
	c.Flags().BoolVar(&p.user, "user", false, "install for the current user only (the default)")
	c.Flags().StringVar(&p.prefix, "prefix", "", "install for all users of the Jupyter in `DIR`/bin")
}

// kernels is the folder of kernels.
func (p *place) kernels() (string, error) {
	if p.user && p.prefix != "" {
		return "", errors.New("found both --user and --prefix, expected one of them")
	}
	if p.prefix == "" {
		return kernelspec.User()
	}
	prefix, err := filepath.Abs(p.prefix)
	return kernelspec.Below(prefix), err
}

func (a *app) kernelInstallCommand() *cobra.Command {
	var p place
	var roots []string
	var save bool
	c := &cobra.Command{
		Use:   "install [--user | --prefix DIR]",
		Short: "make the kernel known to Jupyter's front ends",
		Long: `install installs a Jupyter kernel specification that points to this executable; if you move the executable,
install again. An installed specification of the same name is replaced.`,
		Example: "  wedgework kernel install --user\n  wedgework kernel install --prefix /usr/local --root " +
			"/srv/measurements",
		Args: exactly(0, "no argument"),
		RunE: func(*cobra.Command, []string) error { return a.kernelInstall(p, roots, save) },
	}
	p.flags(c)
	c.Flags().StringArrayVar(&roots, "root", nil, "let notebooks read the files below `DIR` as well")
	saveFlag(c, &save)
	return c
}

func (a *app) kernelInstall(p place, roots []string, save bool) error {
	program, err := os.Executable()
	if err == nil {
		program, err = filepath.EvalSymlinks(program)
	}
	if err != nil {
		return fmt.Errorf("cannot locate the wedgework executable: %w", err)
	}
	if kernelspec.Temporary(program) {
		return hinted{
			fmt.Errorf("%s is a temporary file that will be gone when a notebook wants to start it", program),
			"install the program first: in its source, go install ./cmd/wedgework, then $(go env " +
				"GOPATH)/bin/wedgework kernel install",
		}
	}
	argv := []string{program, "kernel", "run"}
	if save {
		argv = append(argv, "--save")
	}
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
		Short: "remove the kernel from Jupyter's front ends",
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
					"jupyter kernelspec list shows where it is; add --prefix DIR for one in DIR/share/jupyter/kernels",
				}
			}
			return err
		},
	}
	p.flags(c)
	return c
}
