package storetest

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"cribgate/core/required"
)

// A Fault is what a disk does wrong: system calls and what becomes of them, in the
// words that strace takes after "inject=", such as "error=EIO" or, for five
// seconds, "delay_exit=5000000". A call with an error is not made.
type Fault struct{ Calls, What string }

// Break has calls of a running process on files fail from now on, until the
// function that it gives is called; that tells how many there were.
func Break(t testing.TB, pid int, files []string, faults ...Fault) (mend func() int) {
	t.Helper()
	log := filepath.Join(t.TempDir(), "trace")
	args := []string{"-f", "-e", "signal=none", "-o", log, "-p", strconv.Itoa(pid)}
	var calls []string
	for _, file := range files {
		args = append(args, "-P", file)
	}
	for _, f := range faults {
		calls = append(calls, f.Calls)
		args = append(args, "-e", "inject="+f.Calls+":"+f.What)
	}
	args = append(args, "-e", "trace="+strings.Join(calls, ","))
	// Not ended with the test's context: strace that is killed leaves its process stopped.
	cmd := exec.CommandContext(context.WithoutCancel(t.Context()), required.Program(t, "strace"), args...)
	says, err := cmd.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewReader(says)
	line, err := lines.ReadString('\n') // Process 1 attached with 9 threads
	if err != nil || !strings.Contains(line, "attached") {
		rest, _ := io.ReadAll(lines)
		t.Fatalf("strace: %s%s, %v, %v", line, rest, err, cmd.Wait())
	}
	drained := make(chan error, 1)
	go func() {
		_, err := io.Copy(io.Discard, lines)
		drained <- err
	}()
	hits := -1
	mend = func() int {
		t.Helper()
		if hits >= 0 {
			return hits
		}
		if err := cmd.Process.Signal(syscall.SIGINT); err != nil && !errors.Is(err, os.ErrProcessDone) {
			t.Error(err)
		}
		if err := <-drained; err != nil {
			t.Error(err)
		}
		var ended *exec.ExitError
		if err := cmd.Wait(); err != nil && !errors.As(err, &ended) { // it ends by the signal
			t.Error(err)
		}
		text, err := os.ReadFile(log)
		if err != nil {
			t.Error(err)
		}
		hits = bytes.Count(text, []byte("(INJECTED)")) + bytes.Count(text, []byte("(DELAYED)"))
		return hits
	}
	t.Cleanup(func() { mend() })
	return mend
}
