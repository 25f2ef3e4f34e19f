package bench

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"go.uber.org/goleak"
)

var rounds = flag.Int("rounds", 6, "how often a program is killed while it saves")

// childEnv names the file that the test program saves to until it is killed.
const childEnv = "CRIBGATE_BENCH_CHILD"

func TestMain(m *testing.M) {
	if path := os.Getenv(childEnv); path != "" {
		fmt.Fprintln(os.Stderr, saveForEver(context.Background(), path))
		os.Exit(1)
	}
	goleak.VerifyTestMain(m)
}

func opened(t *testing.T, path string, now func() time.Time) *Bench {
	t.Helper()
	b, err := Open(t.Context(), path, Options{Now: now})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func closed(t *testing.T, b *Bench) {
	t.Helper()
	if err := b.Close(); err != nil {
		t.Error(err)
	}
}

func TestDraft(t *testing.T) {
	path := filepath.Join(t.TempDir(), File)
	at := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	b := opened(t, path, func() time.Time { return at })
	ctx := t.Context()
	if d, err := b.Draft(ctx, "s1"); err != nil || d.Revision != 0 || d.Sling != "s1" || d.HeldFrom("b") {
		t.Fatalf("none: %+v %v", d, err)
	}
	d, err := b.Save(ctx, "s1", "a", 0, map[string]string{"d1": "0.342", "d2": "0.34", "none": ""})
	if err != nil || d.Revision != 1 || d.Who != "a" || !d.Begun.Equal(at) {
		t.Fatalf("begun: %+v %v", d, err)
	}
	at = at.Add(time.Minute)
	if d, err = b.Save(ctx, "s1", "a", 1, map[string]string{"d1": "0.342"}); err != nil || d.Revision != 1 {
		t.Errorf("the same again: %+v %v", d, err)
	}
	d, err = b.Save(ctx, "s1", "a", 1, map[string]string{"d1": "", "run": "13 1/64"})
	if err != nil || d.Revision != 2 || !d.Begun.Equal(at.Add(-time.Minute)) || !d.Saved.Equal(at) {
		t.Fatalf("%+v %v", d, err)
	}
	closed(t, b)
	b = opened(t, path, func() time.Time { return at }) // a reload
	want := map[string]string{"d2": "0.34", "run": "13 1/64"}
	if d, err = b.Draft(ctx, "s1"); err != nil || d.Revision != 2 || !maps.Equal(d.Fields, want) {
		t.Errorf("after a reload: %+v %v", d, err)
	}

	_, err = b.Save(ctx, "s1", "b", 2, map[string]string{"run": "x"})
	if held, ok := errors.AsType[*HeldError](err); !ok || held.Draft.Who != "a" || held.Draft.Revision != 2 {
		t.Errorf("somebody else saves: %v", err)
	}
	_, err = b.Save(ctx, "s1", "a", 1, map[string]string{"run": "x"})
	if stale, ok := errors.AsType[*StaleError](err); !ok || stale.Draft.Fields["run"] != "13 1/64" {
		t.Errorf("an older page saves: %v", err)
	}
	if _, err := b.Save(ctx, "s1", "a", 0, nil); err == nil {
		t.Error("a draft was begun twice")
	}
	if d, err = b.LayAside(ctx, "s1", "a", 2); err != nil || !d.Aside || d.HeldFrom("b") || !maps.Equal(d.Fields, want) {
		t.Fatalf("aside: %+v %v", d, err)
	}
	if d, err = b.TakeUp(ctx, "s1", "b", 3); err != nil || d.Aside || d.Who != "b" || !d.HeldFrom("a") {
		t.Fatalf("taken up: %+v %v", d, err)
	}
	if _, err := b.TakeUp(ctx, "s1", "a", 3); err == nil {
		t.Error("taken over from a page that did not know who has it")
	}
	if d, err = b.TakeUp(ctx, "s1", "a", 4); err != nil || d.Who != "a" {
		t.Errorf("taken over: %+v %v", d, err)
	}
	for _, act := range []func() error{
		func() error { _, err := b.LayAside(ctx, "s9", "a", 0); return err },
		func() error { _, err := b.TakeUp(ctx, "s9", "a", 0); return err },
	} {
		if err := act(); !errors.Is(err, ErrNone) {
			t.Errorf("of no draft: %v", err)
		}
	}
	if err := b.Drop(ctx, "s1", 4); err == nil {
		t.Error("dropped from an older page")
	}
	if list, err := b.List(ctx); err != nil || len(list) != 1 || list[0].Sling != "s1" {
		t.Errorf("%+v %v", list, err)
	}
	for range 2 {
		if err := b.Drop(ctx, "s1", 5); err != nil {
			t.Error(err)
		}
	}
	if d, err := b.Draft(ctx, "s1"); err != nil || d.Revision != 0 || len(d.Fields) != 0 {
		t.Errorf("dropped: %+v %v", d, err)
	}
	closed(t, b)
	b = opened(t, path, func() time.Time { return at })
	if d, err = b.Save(ctx, "s1", "a", 0, map[string]string{"run": "13"}); err != nil || d.Revision != 6 {
		t.Errorf("begun anew: %+v %v", d, err)
	}
	for revision := range int64(6) {
		_, err := b.Save(ctx, "s1", "a", revision, map[string]string{"run": "of a tab that was left open"})
		if stale, ok := errors.AsType[*StaleError](err); !ok || stale.Draft.Fields["run"] != "13" {
			t.Errorf("a page of revision %d of the draft before: %v", revision, err)
		}
	}
	closed(t, b)
}

func TestBounds(t *testing.T) {
	b := opened(t, filepath.Join(t.TempDir(), File), nil)
	defer closed(t, b)
	many := map[string]string{}
	for i := range MaxFields {
		many[strconv.Itoa(i)] = "1"
	}
	if _, err := b.Save(t.Context(), "s1", "a", 0, many); err != nil {
		t.Fatal(err)
	}
	for _, bad := range []map[string]string{
		{"one more": "1"}, {"": "1"}, {strings.Repeat("n", MaxName+1): "1"}, {"1": strings.Repeat("v", MaxValue+1)}, {"1": "\xff"},
	} {
		if _, err := b.Save(t.Context(), "s1", "a", 1, bad); !errors.Is(err, ErrFull) {
			t.Errorf("%.20v: %v", bad, err)
		}
	}
	if d, err := b.Draft(t.Context(), "s1"); err != nil || d.Revision != 1 || len(d.Fields) != MaxFields || d.Fields["1"] != "1" {
		t.Errorf("after what was refused: revision %d, %d fields, %v", d.Revision, len(d.Fields), err)
	}
}

// Nothing is left of a person whose name is erased, not even in the file's free pages.
func TestForget(t *testing.T) {
	path := filepath.Join(t.TempDir(), File)
	b := opened(t, path, nil)
	for sling, fields := range map[string]map[string]string{"s1": {"why": "shown by Q. Zorn", "d1": "9.9"}, "s2": {"d1": "9.9"}} {
		if _, err := b.Save(t.Context(), sling, "person-"+sling, 0, fields); err != nil {
			t.Fatal(err)
		}
	}
	if err := b.Forget(t.Context(), "person-s2", func(text string) bool { return strings.Contains(text, "Zorn") }); err != nil {
		t.Fatal(err)
	}
	one, err := b.Draft(t.Context(), "s1")
	two, err2 := b.Draft(t.Context(), "s2")
	if errors.Join(err, err2) != nil || len(one.Fields) != 1 || one.Who != "person-s1" || two.Who != "" || !two.Aside || two.Fields["d1"] != "9.9" {
		t.Errorf("%+v %+v %v %v", one, two, err, err2)
	}
	closed(t, b)
	data, err := os.ReadFile(path)
	if err != nil || bytes.Contains(data, []byte("Zorn")) || bytes.Contains(data, []byte("person-s2")) {
		t.Errorf("the name is still in the file: %v", err)
	}
}

// saveForEver saves one field after another and says each that is on the disk.
func saveForEver(ctx context.Context, path string) error {
	b, err := Open(ctx, path, Options{})
	if err != nil {
		return err
	}
	d, err := b.Draft(ctx, "s1")
	for err == nil {
		n := strconv.FormatInt(d.Revision+1, 10)
		if d, err = b.Save(ctx, "s1", "a", d.Revision, map[string]string{"d" + strconv.FormatInt(d.Revision%200, 10): n, "last": n}); err == nil {
			fmt.Println(d.Revision)
		}
	}
	return err
}

// A program that is killed while it saves has lost nothing of what it was told is
// saved, and its draft is of one piece.
func TestKilledWhileItSaves(t *testing.T) {
	path := filepath.Join(t.TempDir(), File)
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d; again: go test ./kiosk/bench -run TestKilledWhileItSaves -rounds %d", seed, *rounds)
	r := rand.New(rand.NewPCG(seed, 1))
	said := int64(0)
	for range *rounds {
		cmd := exec.CommandContext(t.Context(), os.Args[0])
		cmd.Env = append(os.Environ(), childEnv+"="+path)
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		lines, until := bufio.NewScanner(out), 1+r.IntN(12)
		for range until {
			if !lines.Scan() {
				t.Fatal("the program ended by itself")
			}
			if said, err = strconv.ParseInt(lines.Text(), 10, 64); err != nil {
				t.Fatal(err)
			}
		}
		if err := cmd.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		for lines.Scan() { // what it said before it was dead
			if said, err = strconv.ParseInt(lines.Text(), 10, 64); err != nil {
				t.Fatal(err)
			}
		}
		if err := cmd.Wait(); err == nil {
			t.Fatal("the program was not killed")
		}
		b := opened(t, path, nil)
		d, err := b.Draft(t.Context(), "s1")
		closed(t, b)
		if err != nil || d.Revision < said || d.Revision > said+1 || d.Fields["last"] != strconv.FormatInt(d.Revision, 10) || int64(len(d.Fields)) != min(d.Revision, 200)+1 {
			t.Fatalf("it said %d; there is %+v, %v", said, d, err)
		}
	}
	if said < int64(*rounds) {
		t.Errorf("only %d were saved", said)
	}
}

func BenchmarkSave(b *testing.B) {
	f, err := Open(b.Context(), filepath.Join(b.TempDir(), File), Options{})
	if err != nil {
		b.Fatal(err)
	}
	d := Draft{}
	for i := 0; b.Loop(); i++ {
		if d, err = f.Save(b.Context(), "s1", "a", d.Revision, map[string]string{"d" + strconv.Itoa(i%200): strconv.Itoa(i)}); err != nil {
			b.Fatal(err)
		}
	}
	if err := f.Close(); err != nil {
		b.Fatal(err)
	}
}
