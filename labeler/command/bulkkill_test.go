package command_test

import (
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
	"slices"
	"strings"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/tagcode"
	"cribgate/store"
)

var (
	rounds = flag.Int("rounds", 4, "runs that are killed; 100 are the whole")
	seed   = flag.Uint64("seed", uint64(time.Now().UnixNano()), "seed of the random tests")
)

// A run over many slings is killed at any moment, also when it is taken up again,
// as often as chance has it, until it is done. Then the register and the files are
// those of a run that was not disturbed: no serial twice, and each tag that the
// register knows is on one page of the report, and there it reads.
func TestBulkKilled(t *testing.T) {
	r := rand.New(rand.NewPCG(*seed, 1))
	t.Cleanup(func() {
		if t.Failed() {
			t.Logf("again: go test ./labeler/command -run '^%s$' -seed %d -rounds %d", t.Name(), *seed, *rounds)
		}
	})
	k := newKilling(t)
	var kinds []*undisturbed
	for _, format := range []string{"pdf", "png"} {
		kinds = append(kinds, k.undisturbed(t, format))
	}
	runs := 0
	for round := range *rounds {
		// A run that was over before it could be killed counts for nothing.
		for during := k.during; k.during == during; runs++ {
			if k.round(t, r, round, kinds[round%len(kinds)]); t.Failed() {
				t.Fatalf("round %d failed", round)
			}
			if runs > 20*(round+1) {
				t.Fatalf("round %d: %d runs, and few of them were killed while they went on", round, runs)
			}
		}
	}
	t.Logf("%d rounds, %d runs, %d kills: %d before the plan was written, %d while the run went on, %d as it was done",
		*rounds, runs, k.before+k.during+k.after, k.before, k.during, k.after)
}

// killing is what all rounds have in common.
type killing struct {
	program               string
	crib                  string // a register that is copied for each round
	known                 string // its tags before any run
	before, during, after int    // kills
}

// slings of the register: some hundred, so that a run has several acts.
const slings = 300

func newKilling(t *testing.T) *killing {
	t.Helper()
	k := &killing{program: built(t), crib: filepath.Join(t.TempDir(), "crib")}
	var idents []string
	for i := range slings {
		idents = append(idents, fmt.Sprintf("K-%03d", i))
	}
	idents[77] = "WWWWWWWW" // too wide for the stock
	err := found(k.crib, zeros{}, idents, func(id event.SlingID, n int) []event.Body {
		printed := func(serial tagcode.Serial, stock string) event.Body {
			return event.TagPrinted{Serial: serial, Key: id.Key, Digest: tagcode.Digest(id.String() + stock), Version: 5, Level: "H", Stock: stock}
		}
		switch {
		case n%50 == 3:
			return []event.Body{event.Retired{Reason: "worn", How: "cut"}}
		case n%5 == 1:
			return []event.Body{printed(1, "disc-70")}
		case n%5 == 2:
			return []event.Body{printed(1, "disc-70"), printed(9, "sheet-a4")}
		case n%50 == 4:
			return []event.Body{printed(2, "no-such")}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	k.known = tagsOf(t, k.crib)
	if err := os.WriteFile(filepath.Join(k.crib, "narrow.json"), []byte(narrow), 0o600); err != nil {
		t.Fatal(err)
	}
	return k
}

// built is the program, as it is given to people.
func built(t *testing.T) string {
	t.Helper()
	program := filepath.Join(t.TempDir(), "labeler")
	if out, err := exec.Command("go", "build", "-o", program, "cribgate/labeler").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return program
}

// zeros is a source of one key.
type zeros struct{}

func (zeros) Read(p []byte) (int, error) { clear(p); return len(p), nil }

// work is a copy of the register, and where a run over it goes to.
func (k *killing) work(t *testing.T) (crib, out string) {
	t.Helper()
	dir := t.TempDir()
	crib = filepath.Join(dir, "crib")
	if err := os.CopyFS(crib, os.DirFS(k.crib)); err != nil {
		t.Fatal(err)
	}
	return crib, filepath.Join(dir, "run")
}

func (k *killing) begin(crib, out, format string) *exec.Cmd {
	args := []string{"bulk", "--register", crib, "--template", filepath.Join(crib, "narrow.json"), "--out", out, "--all", "--format", format}
	if format == "png" {
		args = append(args, "--dpi", "203")
	}
	return exec.Command(k.program, args...)
}

// undisturbed is what a run comes to that nobody kills.
type undisturbed struct {
	format string
	took   time.Duration // of the last run that was not killed
	files  map[string][]byte
	known  string // tags of the register after it
}

func (k *killing) undisturbed(t *testing.T, format string) *undisturbed {
	t.Helper()
	crib, out := k.work(t)
	begun := time.Now()
	if text, err := k.begin(crib, out, format).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	u := &undisturbed{format: format, took: time.Since(begun), files: filesOf(t, out), known: tagsOf(t, crib)}
	rows := reportOf(t, u.files)
	checkReport(t, rows, k.known, u.known)
	most := len(rows)
	if format == "pdf" { // the pages are made pictures one by one
		rand.New(rand.NewPCG(*seed, 2)).Shuffle(len(rows), func(i, j int) { rows[i], rows[j] = rows[j], rows[i] })
		most = 20
	}
	readPages(t, crib, out, rows, most)
	return u
}

// round kills one run until it is done.
func (k *killing) round(t *testing.T, r *rand.Rand, round int, u *undisturbed) {
	crib, out := k.work(t)
	cmd := k.begin(crib, out, u.format)
	kills := 1 + r.IntN(4)
	for n := 0; ; n++ {
		// Half of the kills fall near the end, where files get their names.
		after := time.Duration(r.Float64() * 1.1 * float64(u.took))
		if r.IntN(2) == 0 {
			after = time.Duration((0.75 + 0.4*r.Float64()) * float64(u.took))
		}
		if n >= kills {
			after = time.Hour
		}
		begun := time.Now()
		killed, text := runAndKill(t, cmd, after)
		if !killed {
			u.took = time.Since(begun)
		}
		files := filesOf(t, out)
		_, open := files["run.plan"]
		_, done := files["run.done"]
		switch {
		case !killed && !done:
			t.Fatalf("round %d: ended without being done:\n%s", round, text)
		case killed && done:
			k.after++
		case killed && open:
			k.during++
		case killed:
			k.before++
		}
		if done {
			break
		}
		if !open { // nothing was planned, and nothing recorded
			if got := tagsOf(t, crib); got != k.known {
				t.Fatalf("round %d: recorded without a plan:\n%s", round, got)
			}
			cmd = k.begin(crib, out, u.format)
			continue
		}
		again, err := k.begin(crib, out, u.format).CombinedOutput()
		if err == nil || !strings.Contains(string(again), "hint: go on with it: labeler bulk --resume "+out) {
			t.Fatalf("round %d: the same command again: %v\n%s", round, err, again)
		}
		cmd = exec.Command(k.program, "bulk", "--resume", out)
	}
	// Where the run was killed as it ended, its drafts are still to be swept; taking
	// it up says that it is done.
	text, err := exec.Command(k.program, "bulk", "--resume", out).CombinedOutput()
	if err != nil || !strings.Contains(string(text), "is done; nothing was changed") {
		t.Errorf("round %d: taken up when it was done: %v\n%s", round, err, text)
	}
	files := filesOf(t, out)
	if got, want := slices.Sorted(maps.Keys(files)), slices.Sorted(maps.Keys(u.files)); !slices.Equal(got, want) {
		t.Errorf("round %d: files %q, want %q", round, got, want)
	}
	for name, want := range u.files {
		if got := files[name]; name != "run.done" && !bytes.Equal(got, want) {
			t.Errorf("round %d: %s has %d bytes, and differs from the %d of an undisturbed run", round, name, len(got), len(want))
		}
	}
	if got := tagsOf(t, crib); got != u.known {
		t.Errorf("round %d: the register knows\n%s\nwant\n%s", round, got, u.known)
	}
	rows := reportOf(t, files)
	checkReport(t, rows, k.known, u.known)
	r.Shuffle(len(rows), func(i, j int) { rows[i], rows[j] = rows[j], rows[i] })
	readPages(t, crib, out, rows, 5)
}

// runAndKill runs a program, and kills it where it still runs after a time.
func runAndKill(t *testing.T, cmd *exec.Cmd, after time.Duration) (killed bool, text string) {
	t.Helper()
	var out bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &out
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	timer := time.AfterFunc(after, func() { _ = cmd.Process.Kill() }) // it may have ended by itself
	err := cmd.Wait()
	timer.Stop()
	var ended *exec.ExitError
	if errors.As(err, &ended) && ended.ExitCode() == -1 {
		return true, out.String()
	}
	if err != nil {
		t.Fatalf("%s: %v\n%s", cmd, err, out.String())
	}
	return false, out.String()
}

// filesOf reads a directory; one that is not there has none.
func filesOf(t *testing.T, dir string) map[string][]byte {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		t.Fatal(err)
	}
	all := map[string][]byte{}
	for _, e := range entries {
		if all[e.Name()], err = os.ReadFile(filepath.Join(dir, e.Name())); err != nil {
			t.Fatal(err)
		}
	}
	return all
}

// tagsOf lists the tags of a register, one a line, and looks whether it is whole
// and no serial is there twice.
func tagsOf(t *testing.T, crib string) string {
	t.Helper()
	ctx := context.Background()
	file, _, _ := store.Paths(crib)
	s, err := store.Open(ctx, file, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}()
	if report, err := s.Verify(ctx, nil); err != nil || !report.Whole() {
		t.Fatalf("the register does not hold: %v, %v", report.Breaks, err)
	}
	page, more, err := s.List(ctx, store.Query{Limit: store.MaxPage})
	if err != nil || more != "" {
		t.Fatalf("%d slings, more after %q, %v", len(page), more, err)
	}
	var b strings.Builder
	for _, sling := range page {
		last := tagcode.Serial(0)
		for _, tag := range sling.Tags {
			if tag.Serial <= last || sling.Doubt != 0 {
				t.Errorf("%s: serial %d after %d, doubt %d", sling.Details.Ident, tag.Serial, last, sling.Doubt)
			}
			last = tag.Serial
			fmt.Fprintf(&b, "%s %d %s %x\n", sling.Details.Ident, tag.Serial, tag.Stock, tag.Digest)
		}
	}
	return b.String()
}
