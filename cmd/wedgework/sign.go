package main

import (
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"wedgework/reports/fileset"
	"wedgework/reports/job"
	"wedgework/reports/pdf"
	"wedgework/reports/publish"
	"wedgework/reports/reproduce"
	"wedgework/reports/signature"
)

func (a *app) signCommand() *cobra.Command {
	var keys []string
	c := &cobra.Command{
		Use:   "sign REPORT.pdf --sign [ROLE=]KEY",
		Short: "add a signature to an existing report, for example as its reviewer",
		Long: `sign writes a signature beside a report: REPORT.pdf.sig, or REPORT.pdf.reviewed.sig for one in a role. A signature
that is there is never replaced, and a report that was changed after it was written is not signed. reproduce --signer
checks signatures; so does ssh-keygen -Y verify, with the namespace file, or reviewed@wedgework for a role.

Exit status: 0 signed; 2 nothing is written.`,
		Example: "  wedgework sign 0417.pdf --sign reviewed=~/.ssh/id_ed25519.pub",
		Args:    exactly(1, "a report"),
		RunE: func(_ *cobra.Command, args []string) error {
			return a.sign(args[0], keys)
		},
	}
	c.Flags().StringArrayVar(&keys, "sign", nil, signUsage)
	return c
}

func (a *app) sign(path string, named []string) error {
	if len(named) == 0 {
		return hinted{fmt.Errorf("sign: found no --sign, expected --sign [ROLE=]KEY"), "see wedgework help sign"}
	}
	data, err := readBounded(path)
	if err != nil {
		return err
	}
	if _, err := reproduce.Open(data); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	if !pdf.Intact(data) {
		return fmt.Errorf("%s was changed after it was written, or by another version of this program; it is not "+
			"signed",
			path)
	}
	there := signature.Of(path)
	var signing []job.Signing
	for _, text := range named {
		role, key := signature.Cut(text)
		if slices.Contains(there, role) {
			return fmt.Errorf("%s is there already; a signature is not replaced", signature.Path(path, role))
		}
		signing = append(signing, job.Signing{Role: role, Key: job.File{Path: key, At: "--sign"}})
	}
	signed, err := publish.Sign(data, signing)
	if err != nil {
		return err
	}
	var set []fileset.File
	for _, s := range signing {
		set = append(set, fileset.File{Path: signature.Path(path, s.Role), Data: signed[s.Role]})
	}
	return fileset.Replace(set)
}
