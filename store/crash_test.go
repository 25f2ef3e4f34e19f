package store_test

import (
	"bufio"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"cribgate/core/required"
	"cribgate/store"
	"cribgate/store/storetest"
)

var (
	rounds = flag.Int("rounds", 3, "rounds of the tests that kill a child")
	seed   = flag.Uint64("seed", uint64(time.Now().UnixNano()), "seed of the random tests")
)

// random gives a source and says how to run the test again with it.
func random(t *testing.T) *rand.Rand {
	t.Helper()
	t.Cleanup(func() {
		if t.Failed() {
			t.Logf("again: go test ./store -run '^%s$' -seed %d -rounds %d", t.Name(), *seed, *rounds)
		}
	})
	return rand.New(rand.NewPCG(*seed, 1))
}

// A process that dies at any moment under load loses nothing that it has
// acknowledged, does nothing twice and leaves the register whole.
func TestKill(t *testing.T) {
	r := random(t)
	s, _, path := storetest.New(t, store.Options{Program: "test"})
	for c := range clients {
		storetest.Register(t, s, c)
	}
	for round := range *rounds {
		acked := killedUnderLoad(t, path, 1+r.IntN(300))
		for _, line := range acked {
			key, want, _ := strings.Cut(line, " ")
			answer, err := s.Do(t.Context(), store.Act{Station: "test", Way: "hand", Key: key}, func(context.Context, *store.Tx) ([]byte, error) {
				return nil, errors.New("the act was lost")
			})
			if err != nil || string(answer) != want {
				t.Fatalf("round %d: %s was acknowledged as %q, now %q, %v", round, key, want, answer, err)
			}
			var at int64
			var hash string
			if _, err := fmt.Sscan(want, &at, &hash); err != nil {
				t.Fatal(err)
			}
			list, err := s.Since(t.Context(), at-1, 1)
			if err != nil || len(list) != 1 || list[0].Hash.String() != hash {
				t.Fatalf("round %d: %s was acknowledged at %d as %s; there: %v, %v", round, key, at, hash, list, err)
			}
		}
		report, err := s.Verify(t.Context(), nil)
		if err != nil || !report.Whole() {
			t.Fatalf("round %d: %v, %v", round, report.Breaks, err)
		}
	}
	var before, after strings.Builder
	if err := errors.Join(s.Dump(t.Context(), &before), s.Rebuild(t.Context()), s.Dump(t.Context(), &after)); err != nil {
		t.Fatal(err)
	}
	if before.String() != after.String() {
		t.Error("a rebuild gives another present")
	}
}

// killedUnderLoad starts a child, kills it after so many acknowledgements and
// gives all that it had made.
func killedUnderLoad(t *testing.T, path string, after int) []string {
	t.Helper()
	return killed(t, "load", path, after)
}

// killed is killedUnderLoad for a child of any role that goes on until then.
func killed(t *testing.T, role, path string, after int) []string {
	t.Helper()
	cmd := child(t, role, path)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	var acked []string
	lines := bufio.NewReader(out)
	for {
		line, err := lines.ReadString('\n')
		if errors.Is(err, io.EOF) { // a line that was cut was not acknowledged
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		acked = append(acked, strings.TrimSuffix(line, "\n"))
		if len(acked) == after {
			if err := cmd.Process.Kill(); err != nil {
				t.Fatal(err)
			}
		}
	}
	var ended *exec.ExitError
	if err := cmd.Wait(); !errors.As(err, &ended) || ended.ExitCode() != -1 {
		t.Fatalf("the child was not killed: %v", err)
	}
	return acked
}

// traced is a child under strace, which writes to log.
func traced(t *testing.T, role, path, log string, options ...string) *exec.Cmd {
	t.Helper()
	strace := required.Program(t, "strace")
	cmd := child(t, role, path)
	cmd.Path = strace
	cmd.Args = append(append([]string{strace, "-f", "-qq", "-e", "signal=none", "-o", log}, options...), cmd.Args...)
	return cmd
}

// A sync that fails leaves an act whose outcome nobody knows. Asked again with
// its key it is done once, in the same program or in the next one.
func TestUnknownOutcome(t *testing.T) {
	for _, role := range []string{"doubt and ask again", "doubt and die"} {
		t.Run(role, func(t *testing.T) {
			s, _, path := storetest.New(t, store.Options{Program: "test"})
			// Of each thread's syncs of the write-ahead log, the twelfth fails.
			cmd := traced(t, role, path, filepath.Join(t.TempDir(), "trace"),
				"-P", path+"-wal", "-e", "trace=fdatasync,fsync", "-e", "inject=fdatasync,fsync:error=EIO:when=12")
			out, err := cmd.Output()
			var ended *exec.ExitError
			if died := errors.As(err, &ended) && ended.ExitCode() == 3; err != nil && !died || died != (role == "doubt and die") {
				t.Fatalf("%v\n%s", err, out)
			}
			if !strings.Contains(string(out), "false true\n") {
				t.Fatalf("no act was in doubt:\n%s", out)
			}
			for n := range acts {
				if err := enter(t.Context(), s, n); err != nil {
					t.Errorf("%d: %v", n, err)
				}
				sling, err := s.SlingByIdent(t.Context(), storetest.Sling(n).Ident)
				if err != nil || sling.Events != 1 {
					t.Errorf("%d was registered %d times, %v", n, sling.Events, err)
				}
			}
		})
	}
}

// An act that was acknowledged has cost one sync.
func TestOneSyncEach(t *testing.T) {
	_, _, path := storetest.New(t, store.Options{Program: "test"})
	log := filepath.Join(t.TempDir(), "trace")
	cmd := traced(t, "syncs", path, log, "-e", "trace=fsync,fdatasync,getppid")
	if out, err := cmd.Output(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	text, err := os.ReadFile(log)
	if err != nil {
		t.Fatal(err)
	}
	parts := strings.Split(string(text), "getppid(")
	if len(parts) != 3 {
		t.Fatalf("%d parts in the trace, want 3:\n%s", len(parts), text)
	}
	if n := strings.Count(parts[1], "sync("); n != acts {
		t.Errorf("%d syncs for %d acts", n, acts)
	}
}

// What another program records is told within about a second.
func TestWatchAnotherProgram(t *testing.T) {
	s, _, path := storetest.New(t, store.Options{Program: "test"})
	ctx, stop := context.WithTimeout(t.Context(), time.Minute)
	defer stop()
	news := s.Watch(ctx)
	if err := child(t, "one", path).Run(); err != nil {
		t.Fatal(err)
	}
	at, open := <-news
	head, err := s.Head(t.Context())
	if err != nil || !open || at != head.At || at != 4 {
		t.Errorf("told of %d (%v), the head is %d, %v", at, open, head.At, err)
	}
}
