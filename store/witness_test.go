package store_test

import (
	"bytes"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/tagcode"
	"cribgate/store"
)

// retell tells the log anew from a position on, as somebody could who has the
// file and time: one word is another, and everything after it is chained again.
func retell(t *testing.T, path string, from int64) {
	t.Helper()
	s := store.Unchecked(t, path)
	list, err := s.Since(t.Context(), 0, 1000)
	if err != nil {
		t.Fatal(err)
	}
	now := map[event.Hash]event.Hash{} // hashes as they were and are
	unguarded(t, path, func(db *sql.DB) {
		for _, r := range list {
			e := r.Envelope
			if e.At < from {
				continue
			}
			if e.At == from {
				e.Station = "elsewhere"
			} else {
				e.Prev = now[e.Prev]
			}
			e.Parents = slices.Clone(e.Parents)
			for i, p := range e.Parents {
				if h, ok := now[p]; ok {
					e.Parents[i] = h
				}
			}
			text, err := e.Bytes()
			if err != nil {
				t.Fatal(err)
			}
			hash := event.HashOf(text)
			now[r.Hash] = hash
			if _, err := db.Exec("UPDATE log SET hash = ?, envelope = ? WHERE pos = ?", hash[:], text, e.At); err != nil {
				t.Fatal(err)
			}
		}
	})
	if err := s.Rebuild(t.Context()); err != nil {
		t.Fatal(err)
	}
}

// cut takes the end of the log away, with everything that speaks of it.
func cut(t *testing.T, path string, last int64) {
	t.Helper()
	s := store.Unchecked(t, path)
	unguarded(t, path, func(db *sql.DB) {
		execAll(t, db, fmt.Sprintf("DELETE FROM body WHERE pos > %d", last), fmt.Sprintf("DELETE FROM log WHERE pos > %d", last))
	})
	if err := s.Rebuild(t.Context()); err != nil {
		t.Fatal(err)
	}
}

func heads(t *testing.T, path string) (list []tagcode.Head) {
	t.Helper()
	all, err := store.Unchecked(t, path).Since(t.Context(), 0, 1000)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range all {
		list = append(list, tagcode.Head{At: r.Envelope.At, Hash: r.Hash})
	}
	return list
}

func held(t *testing.T, path string, w store.Witness) (store.Report, store.Compared) {
	t.Helper()
	report, err := store.Unchecked(t, path).VerifyAs(t.Context(), store.Verification{Against: w})
	if err != nil || report.Against == nil {
		t.Fatalf("%+v, %v", report, err)
	}
	return report, *report.Against
}

// copied gives the file as it is now under another name, in one piece.
func copied(t *testing.T, path string) string {
	t.Helper()
	tamperOnce(t, path, func(db *sql.DB) error { _, err := db.Exec("PRAGMA wal_checkpoint(TRUNCATE)"); return err })
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	to := filepath.Join(t.TempDir(), "copy.sqlite")
	if err := os.WriteFile(to, text, 0o400); err != nil {
		t.Fatal(err)
	}
	return to
}

// A register that was rewritten throughout is whole in itself. Every sheet from
// before the change goes on holding, every later one shows it.
func TestPaperShowsWhatVerifyAloneCannot(t *testing.T) {
	for _, from := range []int64{1, 2, 22, 42, 43} {
		path, _ := written(t)
		before := heads(t, path)
		if report, c := held(t, path, store.Paper(before[end-1].Shown(64))); !report.Whole() || !c.Holds() {
			t.Fatalf("before: %v, %v", report.Breaks, c)
		}
		retell(t, path, from)
		for _, at := range []int64{1, 2, 21, 22, 23, 41, 42, 43} {
			for _, digits := range []int{8, 64} {
				report, c := held(t, path, store.Paper(before[at-1].Shown(digits)))
				if !report.Whole() {
					t.Fatalf("rewritten from %d: found %v; the test rewrites badly", from, report.Breaks)
				}
				word := fmt.Sprintf("position %d is as on the paper", at)
				if at >= from {
					word = fmt.Sprintf("rewritten at or before %d", at)
				}
				if c.Holds() != (at < from) || !strings.Contains(c.String(), word) || !c.Paper || c.There != at || c.Here != end {
					t.Errorf("rewritten from %d, paper of %d: %+v: %s", from, at, c, c)
				}
			}
		}
	}
}

func TestPaperOfWhatIsNotThere(t *testing.T) {
	path, _ := written(t)
	before := heads(t, path)
	cut(t, path, 42)
	report, c := held(t, path, store.Paper(before[end-1].Shown(8)))
	if !report.Whole() || c.Holds() || !strings.Contains(c.String(), "ends at 42, before position 43") {
		t.Errorf("the end gone: %v, %+v", report.Breaks, c)
	}
	if _, c := held(t, path, store.Paper(before[41].Shown(8))); !c.Holds() {
		t.Errorf("the paper of what is left: %+v", c)
	}
	unguarded(t, path, func(db *sql.DB) { execAll(t, db, "DELETE FROM body WHERE pos = 20", "DELETE FROM log WHERE pos = 20") })
	report, c = held(t, path, store.Paper(before[19].Shown(8)))
	if report.Whole() || c.Holds() || !strings.Contains(c.String(), "rewritten") {
		t.Errorf("the position gone from the middle: %v, %+v", report.Breaks, c)
	}
}

func TestCopies(t *testing.T) {
	spans := func(list ...int64) (out []store.Span) {
		for i := 0; i < len(list); i += 2 {
			out = append(out, store.Span{From: list[i], To: list[i+1]})
		}
		return out
	}
	same := func(t *testing.T, path string) {}
	part := func(last int64) func(*testing.T, string) {
		return func(t *testing.T, path string) { cut(t, path, last) }
	}
	from := func(at int64) func(*testing.T, string) {
		return func(t *testing.T, path string) { retell(t, path, at) }
	}
	gone := func(at ...int64) func(*testing.T, string) {
		return func(t *testing.T, path string) {
			var list []string
			for _, at := range at {
				list = append(list, fmt.Sprintf("DELETE FROM body WHERE pos = %d", at), fmt.Sprintf("DELETE FROM log WHERE pos = %d", at))
			}
			tamper(t, path, statements(list...))
		}
	}
	byte20 := func(t *testing.T, path string) {
		tamper(t, path, statements("UPDATE log SET envelope = CAST(replace(CAST(envelope AS TEXT), 'station test', 'station tess') AS BLOB) WHERE pos IN (20, 30)"))
	}
	for name, c := range map[string]struct {
		here, there func(t *testing.T, path string)
		differ      []store.Span
		holds       bool
		why         string
	}{
		"the same":                       {same, same, nil, true, "positions 1 to 43"},
		"an older copy":                  {same, part(12), nil, true, "positions 1 to 12"},
		"a copy of the founding":         {same, part(1), nil, true, "positions 1 to 1 "},
		"the end is gone":                {part(42), same, nil, false, "ends at 42, the copy at 43"},
		"rewritten from the first":       {from(1), same, spans(1, 43), false, "at 1;"},
		"rewritten from the middle":      {from(22), same, spans(22, 43), false, "at 22; different: 22 to 43"},
		"rewritten at the last":          {from(43), same, spans(43, 43), false, "at 43; different: 43"},
		"the copy was rewritten":         {same, from(22), spans(22, 43), false, "at 22"},
		"rewritten after an older copy":  {from(22), part(21), nil, true, "positions 1 to 21"},
		"two envelopes, not chained":     {byte20, same, spans(20, 20, 30, 30), false, "20, 30"},
		"gone here":                      {gone(1, 2, 20, 43), same, spans(1, 2, 20, 20), false, "1 to 2, 20"},
		"gone there":                     {same, gone(1, 2, 20, 42), spans(1, 2, 20, 20, 42, 42), false, "1 to 2, 20, 42"},
		"gone in both, and other places": {gone(5, 6), gone(6, 7), spans(5, 5, 7, 7), false, "5, 7"},
	} {
		t.Run(name, func(t *testing.T) {
			path, _ := written(t)
			other, _ := written(t)
			c.here(t, path)
			c.there(t, other)
			file := copied(t, other)
			w, err := store.OpenWitness(t.Context(), file)
			if err != nil {
				t.Fatal(err)
			}
			defer w.Close()
			before, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			_, got := held(t, path, w)
			if got.Holds() != c.holds || !slices.Equal(got.Differ, c.differ) || !strings.Contains(got.String()+" ", c.why) || got.Paper {
				t.Errorf("%+v: %s\nwant %v, %v, %q", got, got, c.holds, c.differ, c.why)
			}
			if after, err := os.ReadFile(file); err != nil || string(after) != string(before) {
				t.Errorf("the copy was written to: %v", err)
			}
			if names, err := filepath.Glob(file + "*"); err != nil || len(names) != 1 {
				t.Errorf("beside the copy: %v, %v", names, err)
			}
		})
	}
}

// What is wrong with a copy is not said of the register.
func TestNoCopy(t *testing.T) {
	path, _ := written(t)
	dir := t.TempDir()
	text := filepath.Join(dir, "text.sqlite")
	if err := os.WriteFile(text, []byte("not a register, but a text as long as the header of one would be, and longer than that"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, file := range []string{filepath.Join(dir, "none.sqlite"), text, dir} {
		if w, err := store.OpenWitness(t.Context(), file); !errors.Is(err, store.ErrWitness) || errors.Is(err, store.ErrDamaged) || w != nil {
			t.Errorf("%s: %v, %v", file, w, err)
		}
	}
	file := copied(t, path)
	whole, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	torn := filepath.Join(dir, "torn.sqlite")
	for i := 0; i+4096 <= len(whole); i += 4096 { // the tables are found, what is in them is not
		if page := whole[i : i+4096]; bytes.Contains(page, []byte("crib-envelope 1")) {
			clear(page)
		}
	}
	if err := os.WriteFile(torn, whole, 0o600); err != nil {
		t.Fatal(err)
	}
	w, err := store.OpenWitness(t.Context(), torn)
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	report, err := store.Unchecked(t, path).VerifyAs(t.Context(), store.Verification{Against: w})
	if !errors.Is(err, store.ErrWitness) || errors.Is(err, store.ErrDamaged) {
		t.Errorf("a torn copy: %+v, %v", report, err)
	}
}
