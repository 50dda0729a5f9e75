package main

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"wedgework/kernel"
	"wedgework/kernel/history"
	"wedgework/kernel/lastcell"
	"wedgework/kernel/live"
	"wedgework/kernel/transport"
	"wedgework/kernel/wire"
	"wedgework/reports/files"
	"wedgework/reports/notebook"
	"wedgework/reports/reason"
)

func (a *app) kernelRunCommand() *cobra.Command {
	var roots []string
	var save bool
	c := &cobra.Command{
		Use:   "run CONNECTION_FILE",
		Short: "serve one notebook; front ends start this",
		Long: `run serves the front end that wrote CONNECTION_FILE until that asks for the end. The folder it is started in is
the notebook's. SIGINT interrupts the running cell, SIGTERM ends the kernel.`,
		Args: exactly(1, "a connection file"),
		RunE: func(c *cobra.Command, args []string) error {
			return a.kernelRun(context.WithoutCancel(c.Context()), args[0], roots, save)
		},
	}
	c.Flags().StringArrayVar(&roots, "root", nil, "let the notebook read the files below `DIR` as well")
	saveFlag(c, &save)
	return c
}

// kernelRun is the one place where sockets, interpreter and what lies on disk come together. The context of the
// other commands ends with an interrupt; a kernel does not.
func (a *app) kernelRun(ctx context.Context, file string, roots []string, save bool) error {
	log := func(line string) { a.say("%s", line) }
	connection, err := wire.ReadConnection(file)
	if err != nil {
		return reason.Plain(err)
	}
	// Front ends wait for the sockets, so these come first.
	author := wire.NewAuthor(userName())
	sockets, err := transport.Open(connection, transport.Options{Log: log, Welcome: author.Welcome})
	if err != nil {
		return err
	}
	defer func() {
		if err := sockets.Close(ctx); err != nil {
			log(err.Error())
		}
	}()
	r, err := files.OpenRoots(".", roots...)
	if err != nil {
		return err
	}
	defer r.Close()
	interpreter, err := live.New(readFrom(r))
	if err != nil {
		return err
	}
	interpreter.Saves(saver(save, "."))
	interpreter.Lists(r.List)
	config := kernel.Config{
		Sockets: sockets, Author: author, Interpreter: interpreter,
		Info: kernelInfo(), Rest: giveBack, Log: log,
	}
	if state, err := stateFolder(); err != nil {
		log("neither history nor a trace of fatal cells is kept: " + err.Error())
	} else {
		config.History = history.New(filepath.Join(state, "history.jsonl"))
		recorder, notice, err := lastcell.Open(filepath.Join(state, "running", connectionName(file, connection)))
		if err != nil {
			log("no trace of fatal cells is kept: " + err.Error())
		} else {
			defer recorder.Close()
			config.Watch, config.Notice = recorder, notice
		}
	}
	k := kernel.New(config)
	ctx, stop := signal.NotifyContext(ctx, syscall.SIGTERM, syscall.SIGHUP)
	defer stop()
	defer onInterrupt(k.Interrupt)()
	ctx, orphaned := context.WithCancel(ctx)
	defer orphaned()
	go watchParent(ctx, orphaned)
	defer time.AfterFunc(settled, releaseStartup).Stop()

	_, err = k.Serve(ctx)
	return err
}

// settled is when the front end has had its first answers.
const settled = time.Second

// releaseStartup gives back what only the start-up took: garbage of the packages' tables, and code.
func releaseStartup() {
	debug.FreeOSMemory()
	unmapCode()
}

// modest is what the heap of a kernel may hold without anybody minding: a choice.
const modest = 64 << 20

// giveBack gives the memory of past cells back to the system. The runtime by itself keeps what was in use at its last
// collection, and after one large cell that is hundreds of megabytes for the rest of the day.
func giveBack() {
	samples := []metrics.Sample{{Name: "/memory/classes/heap/objects:bytes"},
		{Name: "/memory/classes/heap/unused:bytes"}, {Name: "/memory/classes/heap/free:bytes"}}
	metrics.Read(samples)
	held := uint64(0)
	for _, s := range samples {
		held += s.Value.Uint64()
	}
	if held > modest {
		runtime.GC() // buffers in a sync.Pool outlive one collection
		debug.FreeOSMemory()
	}
}

// onInterrupt calls f at every interrupt signal, until the returned function is called.
func onInterrupt(f func()) (stop func()) {
	signals := make(chan os.Signal, 1)
	signal.Notify(signals, os.Interrupt)
	go func() {
		for range signals {
			f()
		}
	}()
	return func() {
		signal.Stop(signals)
		close(signals)
	}
}

// kernelInfo is what the kernel says about itself.
func kernelInfo() kernel.Info {
	p := program()
	return kernel.Info{
		Name: p.Name, Version: p.Version,
		Banner: fmt.Sprintf("Wedgework %s: design and verification of fibre-optic isolators. help() lists the words, "+
			"word? explains one.", p.Version),
		Language: notebook.LanguageInfo(),
		Links: []kernel.Link{{Text: "The language of the cells: Starlark",
			URL: "https://github.com/google/starlark-go/blob/master/doc/spec.md"}},
	}
}

// userName is who the messages are from. Nobody relies on it; to ask the system would take the C library, and
// with it half a megabyte.
func userName() string {
	if name := os.Getenv("USER"); name != "" {
		return name
	}
	return "kernel"
}

// connectionName names a connection for as long as it lasts: a kernel that is started anew gets the same file
// with the same key, and no other kernel does.
func connectionName(file string, c wire.Connection) string {
	if abs, err := filepath.Abs(file); err == nil {
		file = abs
	}
	return fmt.Sprintf("%x", sha256.Sum256([]byte(file+"\x00"+c.Key)))[:32]
}

// stateFolder is where what outlives a run is kept: XDG_STATE_HOME, or what systems without have in its place.
func stateFolder() (string, error) {
	if dir := os.Getenv("XDG_STATE_HOME"); filepath.IsAbs(dir) {
		return filepath.Join(dir, "wedgework"), nil
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "", errors.New("there is no home folder and no XDG_STATE_HOME")
	}
	return filepath.Join(home, ".local", "state", "wedgework"), nil
}
