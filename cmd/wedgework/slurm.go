package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"

	"wedgework/reports/regenerate"
)

// mostArray bounds the parts of an array: MaxArraySize is 1001 unless a cluster says otherwise (slurm.conf(5), from
// memory), and the greatest index is one less.
const mostArray = 1000

// submit has Slurm run the parts of a plan, and after them the plan as a whole, however they ended: a part of which
// some verdict does not pass counts as failed there. A part whose node goes down is queued again and repeats only what
// it had not made.
func (a *app) submit(ctx context.Context, self, path string, o regenerate.Options, w around) error {
	if _, err := readPlan(path); err != nil {
		return err
	}
	path, err := filepath.Abs(path)
	if err != nil {
		return err
	}
	common := []string{self, "regenerate"}
	if o.Workers > 0 {
		common = append(common, "--jobs", strconv.Itoa(o.Workers))
	}
	part := common
	if o.Force {
		part = append(part[:len(part):len(part)], "--force")
	}
	log := filepath.Join(filepath.Dir(path), "slurm-%A_%a.out")
	array, err := sbatch(ctx, quoted(append(part[:len(part):len(part)], "--shard"))+
		fmt.Sprintf(` "$SLURM_ARRAY_TASK_ID/%d" `, w.slurm)+quoted([]string{path}),
		"--job-name=wedgework", fmt.Sprintf("--array=1-%d", w.slurm), "--requeue", "--open-mode=append",
		"--output="+log)
	if err != nil {
		return err
	}
	whole := common
	if w.noIndex {
		whole = append(whole[:len(whole):len(whole)], "--no-index")
	}
	for _, f := range [][2]string{{"--notify", w.notify}, {"--metrics", w.metrics}} {
		if f[1] != "" {
			whole = append(whole[:len(whole):len(whole)], f[0], f[1])
		}
	}
	after, err := sbatch(ctx, quoted(append(whole[:len(whole):len(whole)], path)), "--job-name=wedgework-merge",
		"--dependency=afterany:"+array, "--requeue", "--open-mode=append",
		"--output="+filepath.Join(filepath.Dir(path), "slurm-%j.out"))
	if err != nil {
		return fmt.Errorf("%w; the parts are submitted as job %s", err, array)
	}
	fmt.Fprintf(a.out, "submitted: job %s makes the plan in %d parts, job %s takes them together\n", array, w.slurm,
		after)
	return nil
}

var jobNumber = regexp.MustCompile(`^[0-9]+$`)

// sbatch submits a line of shell and returns the number of the job.
func sbatch(ctx context.Context, line string, options ...string) (string, error) {
	folder, err := os.Getwd()
	if err != nil {
		return "", err
	}
	c := exec.CommandContext(ctx, "sbatch", append([]string{"--parsable", "--chdir=" + folder}, options...)...)
	c.Stdin = strings.NewReader("#!/bin/sh\nexec " + line + "\n")
	var out, said bytes.Buffer
	c.Stdout, c.Stderr = &out, &said
	if err := c.Run(); err != nil {
		return "", fmt.Errorf("sbatch: %w: %s", err, strings.TrimSpace(said.String()))
	}
	number, _, _ := strings.Cut(strings.TrimSpace(out.String()), ";") // id;cluster
	if !jobNumber.MatchString(number) {
		return "", fmt.Errorf("sbatch: found %q, expected the number of a job", out.String())
	}
	return number, nil
}

// quoted writes words for a shell, each as it is.
func quoted(words []string) string {
	var all []string
	for _, w := range words {
		all = append(all, "'"+strings.ReplaceAll(w, "'", `'\''`)+"'")
	}
	return strings.Join(all, " ")
}
