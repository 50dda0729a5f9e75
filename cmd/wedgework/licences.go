package main

import (
	_ "embed"
	"io"

	"github.com/spf13/cobra"
)

//go:generate go run ./internal/notices -out notices.txt

// notices holds the licence of the program's own parts and of everything linked or embedded into it.
//
//go:embed notices.txt
var notices string

func (a *app) licencesCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "licences",
		Short: "print the licences of every module and font in the program",
		Args:  exactly(0, "no argument"),
		RunE: func(*cobra.Command, []string) error {
			_, err := io.WriteString(a.out, notices)
			return err
		},
	}
}
