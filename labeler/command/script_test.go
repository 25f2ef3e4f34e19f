package command_test

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"cribgate/labeler/command"
	"cribgate/labeler/printer/printertest"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"labeler": func() {
			os.Exit(command.Run(context.Background(), os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
		},
	})
}

func TestScripts(t *testing.T) {
	ps := &printers{t: t, by: map[string]*printertest.Printer{}}
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"status": status,
			"crib":   crib,
			"tags":   tags,
			"paint":  paint,

			"inspectedcrib": inspectedcrib,
			"slingline":     slingline,

			"printer": ps.start,
			"arrived": ps.arrived,
			"socket":  ps.socket,
		},
	})
}

// status N COMMAND… runs a command and wants its exit status to be N.
func status(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status N command args…")
	}
	want, err := strconv.Atoi(args[0])
	if err != nil {
		ts.Fatalf("status: %v", err)
	}
	got := 0
	var exit *exec.ExitError
	if err := ts.Exec(args[1], args[2:]...); errors.As(err, &exit) {
		got = exit.ExitCode()
	} else if err != nil {
		ts.Fatalf("status: %v", err)
	}
	if got != want {
		ts.Fatalf("exit status %d, want %d", got, want)
	}
}
