package main

import (
	"github.com/spf13/cobra"

	"wedgework/reports/record"
)

func (a *app) schemaCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "schema",
		Short: "print the JSON Schema of the record (REPORT.json)",
		Args:  exactly(0, "no argument"),
		RunE: func(*cobra.Command, []string) error {
			_, err := a.out.Write(record.JSONSchema())
			return err
		},
	}
}
