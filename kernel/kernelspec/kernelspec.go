// Package kernelspec tells the front ends on a machine how to start the kernel: a folder with a description and
// pictures, in one of the places where they look.
package kernelspec

import (
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
)

// Name is what notebooks and front ends call the kernel.
const Name = "wedgework"

//go:embed logo
var logo embed.FS

// spec is the description, in the words of the protocol.
type spec struct {
	Argv      []string       `json:"argv"`
	Display   string         `json:"display_name"`
	Language  string         `json:"language"`
	Interrupt string         `json:"interrupt_mode"`
	Metadata  map[string]any `json:"metadata"`
}

// Write writes the description of a kernel, which is started by argv, into the folder of kernels. In argv
// {connection_file} stands for the file that a front end makes. One that is there already is
// replaced. It returns the folder it has written.
func Write(kernels string, argv []string) (folder string, err error) {
	if err := os.MkdirAll(kernels, 0o755); err != nil {
		return "", err
	}
	beside, err := os.MkdirTemp(kernels, ".new-"+Name+"-")
	if err != nil {
		return "", err
	}
	defer os.RemoveAll(beside)
	text, err := json.MarshalIndent(spec{
		Argv: argv, Display: "Wedgework", Language: "starlark", Interrupt: "message",
		Metadata: map[string]any{"debugger": false},
	}, "", "  ")
	if err != nil {
		return "", err
	}
	if err := os.WriteFile(filepath.Join(beside, "kernel.json"), append(text, '\n'), 0o644); err != nil {
		return "", err
	}
	pictures, err := fs.Sub(logo, "logo")
	if err != nil {
		return "", err
	}
	if err := os.CopyFS(beside, pictures); err != nil {
		return "", err
	}
	if err := os.Chmod(beside, 0o755); err != nil { // others start the kernel too
		return "", err
	}
	folder = filepath.Join(kernels, Name)
	if err := Remove(kernels); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return "", err
	}
	return folder, os.Rename(beside, folder)
}

// Remove removes the description from a folder of kernels. The error wraps fs.ErrNotExist when it is not there,
// and nothing is removed that does not look like one of ours.
func Remove(kernels string) error {
	folder := filepath.Join(kernels, Name)
	info, err := os.Lstat(folder)
	if err != nil {
		return err
	}
	if info.Mode()&fs.ModeSymlink != 0 {
		return os.Remove(folder)
	}
	if _, err := os.Stat(filepath.Join(folder, "kernel.json")); err != nil {
		return fmt.Errorf("%s holds no kernel.json: it is left as it is", folder)
	}
	return os.RemoveAll(folder)
}

// User is the folder of kernels of the person who runs the program: JUPYTER_DATA_DIR, or what each system has
// in its place.
func User() (string, error) {
	if dir := os.Getenv("JUPYTER_DATA_DIR"); dir != "" {
		return filepath.Join(dir, "kernels"), nil
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "", err
	}
	switch runtime.GOOS {
	case "darwin":
		return filepath.Join(home, "Library", "Jupyter", "kernels"), nil
	case "windows":
		dir, err := os.UserConfigDir() // %AppData%
		return filepath.Join(dir, "jupyter", "kernels"), err
	}
	if dir := os.Getenv("XDG_DATA_HOME"); filepath.IsAbs(dir) {
		return filepath.Join(dir, "jupyter", "kernels"), nil
	}
	return filepath.Join(home, ".local", "share", "jupyter", "kernels"), nil
}

// Below is the folder of kernels of an installation whose programs are in prefix/bin.
func Below(prefix string) string { return filepath.Join(prefix, "share", "jupyter", "kernels") }

// Temporary reports whether a program will be gone soon: one that "go run" or "go test" has made.
func Temporary(program string) bool {
	for _, part := range strings.Split(filepath.ToSlash(program), "/") {
		if strings.HasPrefix(part, "go-build") {
			return true
		}
	}
	return false
}
