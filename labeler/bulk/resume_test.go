package bulk_test

import (
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/tagcode"
	"cribgate/labeler/bulk"
	"cribgate/labeler/print"
)

// What can happen to a run at any step changes nothing of what comes out: it is
// stopped before each of them in turn, taken up again, stopped again.
func TestStoppedAtEachStep(t *testing.T) {
	errStop := errors.New("stopped")
	base := mixed(t)
	o := order(t)
	o.Format = print.PDF
	whole := base.again(t)
	wholeDir := filepath.Join(t.TempDir(), "run")
	whole.run(t, wholeDir, o)
	want, wantTags := files(t, wholeDir), whole.tags(t)
	for stop := 1; ; stop++ {
		s := base.again(t)
		dir := filepath.Join(t.TempDir(), "run")
		run, err := bulk.Start(t.Context(), s.Reader, s.keys, dir, o)
		if err != nil {
			t.Fatal(err)
		}
		const tries = 3
		stopped := 0
		for {
			if left := stop; stopped < tries {
				run.StopBefore(func(string) error {
					if left--; left == 0 {
						return errStop
					}
					return nil
				})
			}
			_, err := run.Work(t.Context(), s.Store, s.keys, nil)
			if err == nil {
				break
			}
			if !errors.Is(err, errStop) {
				t.Fatalf("stopped before step %d: %v", stop, err)
			}
			stopped++
			if got := names(files(t, dir)); got != "run.plan" {
				t.Fatalf("stopped before step %d: left %s", stop, got)
			}
			// The same command does not begin another run.
			if _, err := bulk.Start(t.Context(), s.Reader, s.keys, dir, o); !errors.Is(err, bulk.ErrUnfinished) {
				t.Fatalf("stopped before step %d: begun again: %v", stop, err)
			}
			if run, err = bulk.Resume(dir); err != nil {
				t.Fatal(err)
			}
		}
		same(t, fmt.Sprintf("stopped before step %d", stop), files(t, dir), want)
		if got := s.tags(t); got != wantTags {
			t.Errorf("stopped before step %d: the register knows\n%s\nwant\n%s", stop, got, wantTags)
		}
		if stopped > 0 {
			continue
		}
		if stop < 10 {
			t.Errorf("a run has %d steps only", stop-1)
		}
		return
	}
}

// stopped begins a run and stops it before the step of that name, n times it.
func (s *shop) stopped(t *testing.T, dir string, o bulk.Order, step string, n int) {
	t.Helper()
	errStop := errors.New("stopped")
	run, err := bulk.Start(t.Context(), s.Reader, s.keys, dir, o)
	if err != nil {
		t.Fatal(err)
	}
	run.StopBefore(func(now string) error {
		if now == step {
			n--
		}
		if n == 0 {
			return errStop
		}
		return nil
	})
	if _, err := run.Work(t.Context(), s.Store, s.keys, nil); !errors.Is(err, errStop) {
		t.Fatalf("not stopped: %v", err)
	}
}

func (s *shop) resume(t *testing.T, dir string) bulk.Summary {
	t.Helper()
	run, err := bulk.Resume(dir)
	if err != nil {
		t.Fatal(err)
	}
	summary, err := run.Work(t.Context(), s.Store, s.keys, nil)
	if err != nil {
		t.Fatal(err)
	}
	return summary
}

// What others did while a run stood still is seen when it goes on: nothing is
// printed that would lie, and each sling is in the report.
func TestChangedMeanwhile(t *testing.T) {
	inspected := event.Inspected{Date: day(t, "2026-04-01"), Outcome: tagcode.Fit, Service: due.Normal, Due: day(t, "2027-04-01"), RatingTag: gate.TagLegible}
	for _, c := range []struct {
		name, step string
		do         func(s *shop)
		want       string // why A-1 is left out; empty where it is printed
		behind     bool   // the register has a tag of it from the run
	}{
		{"nothing, unrecorded", "record", func(*shop) {}, "", true},
		{"nothing, recorded", "recorded", func(*shop) {}, "", true},
		{"another tag, unrecorded", "record", func(s *shop) { s.print(t, "A-1", 1, "disc-70") }, "serial 1 was taken meanwhile", false},
		{"another tag, recorded", "recorded", func(s *shop) { s.print(t, "A-1", 2, "disc-70") }, "", true},
		{"inspected, unrecorded", "record", func(s *shop) { s.tell(t, "A-1", inspected) }, "", true},
		{"inspected, recorded", "recorded", func(s *shop) { s.tell(t, "A-1", inspected) }, "has changed since the tag was recorded; the register has the tag", true},
		{"held, recorded", "recorded", func(s *shop) { s.tell(t, "A-1", event.Held{Reason: "dropped"}) }, "", true},
		{"lost, unrecorded", "record", func(s *shop) { s.tell(t, "A-1", event.Lost{}) }, "it is lost", false},
		{"lost, recorded", "recorded", func(s *shop) { s.tell(t, "A-1", event.Lost{}) }, "it is lost; the register has the tag", true},
		{"replaced, recorded", "recorded", func(s *shop) {
			s.print(t, "A-1", 2, "disc-70")
			s.tell(t, "A-1", event.TagConfirmed{Serial: 2, Typed: "1"})
		}, "the tag is not good any more; the register has the tag", true},
		{"thrown away, recorded", "recorded", func(s *shop) { s.tell(t, "A-1", event.TagSpoiled{Serial: 1, Why: event.SpoiltBlank}) },
			"the tag is not good any more; the register has the tag", true},
	} {
		s := found(t, "A-0", "A-1", "A-2")
		dir := filepath.Join(t.TempDir(), "run")
		s.stopped(t, dir, order(t), c.step, 1)
		c.do(s)
		summary := s.resume(t, dir)
		got := ""
		for _, l := range summary.Left {
			if l.Ident != "A-1" {
				t.Errorf("%s: left out %+v", c.name, l)
			}
			got = l.Why
		}
		if c.want == "" && got != "" || !strings.Contains(got, c.want) || summary.Printed != 3-len(summary.Left) || len(report(t, dir)) != 3 {
			t.Errorf("%s: %+v, want %q", c.name, summary, c.want)
		}
		if behind := strings.Contains(s.tags(t), "A-1 1 plate-50x80 "); behind != c.behind {
			t.Errorf("%s: the register has the tag: %v", c.name, behind)
		}
	}
}

// A plan that was changed by hand puts nobody's address on a tag.
func TestPrefixOfAnother(t *testing.T) {
	s := found(t, "A-1")
	dir := filepath.Join(t.TempDir(), "run")
	s.stopped(t, dir, order(t), "record", 1)
	file := filepath.Join(dir, "run.plan")
	plan, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	changed := strings.Replace(string(plan), `"prefix":"HTTPS://H.EXAMPLE/"`, `"prefix":"HTTPS://X.EXAMPLE/"`, 1)
	if changed == string(plan) {
		t.Fatalf("the prefix is not in %s", plan)
	}
	if err := os.WriteFile(file, []byte(changed), 0o666); err != nil {
		t.Fatal(err)
	}
	summary := s.resume(t, dir)
	if summary.Printed != 0 || len(summary.Left) != 1 || !strings.Contains(summary.Left[0].Why, "another prefix") {
		t.Errorf("came to %+v", summary)
	}
	if got := s.tags(t); got != "" {
		t.Errorf("the register knows %s", got)
	}
}

// Two processes that take up one run at the same time do no harm.
func TestTwoAtOnce(t *testing.T) {
	base := mixed(t)
	first := base.again(t)
	dir := filepath.Join(t.TempDir(), "run")
	first.run(t, dir, order(t))
	want := maps.Clone(files(t, dir))

	s := base.again(t)
	dir = filepath.Join(t.TempDir(), "run")
	if _, err := bulk.Start(t.Context(), s.Reader, s.keys, dir, order(t)); err != nil {
		t.Fatal(err)
	}
	one, err := bulk.Resume(dir)
	if err != nil {
		t.Fatal(err)
	}
	// While it is about to record its first part, another records it.
	did := false
	one.StopBefore(func(step string) error {
		if step != "record" || did {
			return nil
		}
		did = true
		two, err := bulk.Resume(dir)
		if err != nil {
			return err
		}
		stop := errors.New("stop")
		two.StopBefore(func(step string) error {
			if step == "recorded" {
				return stop
			}
			return nil
		})
		if _, err := two.Work(t.Context(), s.Store, s.keys, nil); !errors.Is(err, stop) {
			return fmt.Errorf("the other run: %w", err)
		}
		return nil
	})
	if _, err := one.Work(t.Context(), s.Store, s.keys, nil); err != nil && !errors.Is(err, os.ErrNotExist) {
		t.Fatal(err)
	} else if err != nil { // in one process both have the same drafts
		s.resume(t, dir)
	}
	same(t, "two at once", files(t, dir), want)
	if got, want := s.tags(t), first.tags(t); got != want {
		t.Errorf("the register knows\n%s\nwant\n%s", got, want)
	}
}
