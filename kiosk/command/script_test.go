package command

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"

	"github.com/rogpeppe/go-internal/testscript"
)

// scriptCommands are what the scripts can do besides the usual.
func scriptCommands() map[string]func(*testscript.TestScript, bool, []string) {
	return map[string]func(*testscript.TestScript, bool, []string){
		"status": status, "only": only, "move": move, "overwrite": overwrite, "cut": cut,
	}
}

// status N COMMAND… runs a command and wants its exit status to be N.
func status(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status N command args…")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
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

// only DIR PATTERN… wants the names in a directory to match the patterns, one
// each, hidden names too.
func only(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: only dir pattern…")
	}
	list, err := os.ReadDir(ts.MkAbs(args[0]))
	ts.Check(err)
	left := slices.Clone(args[1:])
	for _, e := range list {
		i := slices.IndexFunc(left, func(p string) bool { ok, err := filepath.Match(p, e.Name()); return ok && err == nil })
		if i < 0 {
			ts.Fatalf("%s is in %s", e.Name(), args[0])
		}
		left = slices.Delete(left, i, i+1)
	}
	if len(left) > 0 {
		ts.Fatalf("not in %s: %v", args[0], left)
	}
}

// move PATTERN FILE gives the one file that matches another name.
func move(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: move pattern file")
	}
	list, err := filepath.Glob(ts.MkAbs(args[0]))
	ts.Check(err)
	if len(list) != 1 {
		ts.Fatalf("%d files match %s", len(list), args[0])
	}
	ts.Check(os.Rename(list[0], ts.MkAbs(args[1])))
}

// overwrite FILE POSITION changes a digit of the envelope of that position.
func overwrite(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: overwrite file position")
	}
	path := ts.MkAbs(args[0])
	text, err := os.ReadFile(path)
	ts.Check(err)
	mark := []byte("\nat " + args[1] + "\nprev ")
	i := bytes.Index(text, mark)
	if i < 0 {
		ts.Fatalf("no envelope of position %s", args[1])
	}
	for ; i >= 0; i = bytes.Index(text, mark) {
		text[i+1] = 'b'
	}
	ts.Check(os.WriteFile(path, text, 0o600))
}

// cut FILE leaves half of a file.
func cut(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: cut file")
	}
	path := ts.MkAbs(args[0])
	info, err := os.Stat(path)
	ts.Check(err)
	ts.Check(os.Truncate(path, info.Size()/2+100))
}
