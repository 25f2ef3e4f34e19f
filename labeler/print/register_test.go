package print_test

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/labeler/print"
	"cribgate/labeler/symbol"
	"cribgate/store"
	"cribgate/store/keyring"
)

// A shop is a register with its keys and one person who acts.
type shop struct {
	*store.Store
	key  tagcode.Key
	keys keyring.Ring
	act  store.Act
}

func open(t *testing.T, prefix string, idents ...string) *shop {
	t.Helper()
	ctx := context.Background()
	file, _, dir := store.Paths(t.TempDir())
	key, err := keyring.Create(dir, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	keys, err := keyring.Load(dir)
	if err != nil {
		t.Fatal(err)
	}
	s, keeper, err := store.Init(ctx, file, store.Founding{
		Name: "Test crib", Units: quantity.Imperial, Rules: due.US, Zone: "UTC",
		Policy: event.Policy{MaxMonths: 12, MaxTilt: 5 * quantity.Degree, Prefix: prefix},
		Key:    key.Fingerprint(), Keeper: "Keeper", Station: "test",
	}, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if _, err := s.Verify(ctx, nil); err != nil {
			t.Errorf("the register does not verify: %v", err)
		}
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	sh := &shop{s, key, keys, store.Act{By: keeper, Station: "test", Way: "program"}}
	for _, ident := range idents {
		sh.do(t, ident, func(event.SlingID) event.Body { return event.Registered{Details: details(t, ident)} })
	}
	return sh
}

func details(t *testing.T, ident string) event.Details {
	t.Helper()
	size, err := rating.ParseSize(rating.US, "3/8")
	if err != nil {
		t.Fatal(err)
	}
	inspected, _ := quantity.NewDate(2025, 11, 10)
	return event.Details{
		Ident: ident, Outcome: tagcode.Fit, Service: due.Normal,
		Sling: gate.Sling{
			Plate: rating.Plate{
				System: rating.US, Grade: rating.Grade80, Size: size, Legs: 2, Reach: 2400 * quantity.Millimetre,
				Stamped: []rating.Stamp{{Legs: 2, Basis: rating.H60, Load: 12300 * quantity.Pound}},
			},
			RatingTag: gate.TagLegible, State: gate.StateIn, Inspected: inspected, Due: inspected.AddMonths(12),
		},
	}
}

// do appends one event to a sling's story.
func (s *shop) do(t *testing.T, ident string, body func(event.SlingID) event.Body) {
	t.Helper()
	id := event.SlingOf(s.key.Fingerprint(), ident)
	_, err := s.Do(context.Background(), s.act, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		sling, err := tx.Sling(ctx, id)
		if err != nil && !errors.Is(err, store.ErrNotFound) {
			return nil, err
		}
		_, err = tx.Append(ctx, event.Sling(id), sling.Heads, body(id))
		return nil, err
	})
	if err != nil {
		t.Fatal(err)
	}
}

func (s *shop) next(t *testing.T, idents ...string) []print.Tag {
	t.Helper()
	tags, err := print.FromRegister(context.Background(), s.Reader, s.keys, idents)
	if err != nil {
		t.Fatal(err)
	}
	return tags
}

func (s *shop) record(tags []print.Tag, t *testing.T) error {
	t.Helper()
	job := print.Job{Stock: stock(t, "disc-70")}
	drawn := make([]print.Drawn, len(tags))
	for i, tag := range tags {
		var err error
		if drawn[i], _, err = job.Draw(tag); err != nil {
			return err
		}
	}
	return s.recordDrawn(drawn)
}

func (s *shop) recordDrawn(drawn []print.Drawn) error {
	_, err := s.Do(context.Background(), s.act, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		return nil, print.Record(ctx, tx, drawn)
	})
	return err
}

func TestFromRegister(t *testing.T) {
	s := open(t, "HTTPS://H.EXAMPLE/", "A-2", "A-1", "A-3")
	tags := s.next(t, "A-3", "A-1")
	if len(tags) != 2 || tags[0].Ident != "A-3" || tags[1].Ident != "A-1" {
		t.Fatalf("tags of A-3 and A-1: %+v", tags)
	}
	for _, tag := range tags {
		if tag.Sealed.Serial != 1 || tag.Sealed.Verify(s.key) != nil || encode(t, tag).Level() != symbol.LevelQ ||
			!strings.HasPrefix(tag.Sealed.Text(), "HTTPS://H.EXAMPLE/") || tag.Sling != event.SlingOf(s.key.Fingerprint(), tag.Ident) {
			t.Errorf("tag of %s: %+v", tag.Ident, tag)
		}
	}
	if err := s.record(tags, t); err != nil {
		t.Fatal(err)
	}
	// The register knows the tag by its text, and what was printed.
	sling, tag, err := s.SlingByTag(context.Background(), tagcode.Digest(tags[0].Sealed.Text()))
	if err != nil || sling.Details.Ident != "A-3" || tag.Serial != 1 || tag.Status != state.TagPrinted ||
		tag.Stock != "disc-70" || tag.Version != 5 || tag.Level != "Q" || tag.Mask != encode(t, tags[0]).Mask() {
		t.Errorf("found by its tag: %s, %+v, %v", sling.Details.Ident, tag, err)
	}
	// Without names: all, and each with its own next serial.
	var got []string
	for _, tag := range s.next(t) {
		got = append(got, tag.Ident+" "+strings.Repeat("I", int(tag.Sealed.Serial)))
	}
	if want := "A-1 II, A-2 I, A-3 II"; strings.Join(got, ", ") != want {
		t.Errorf("next tags %v, want %s", got, want)
	}
}

func TestFromRegisterRefuses(t *testing.T) {
	s := open(t, "", "A-1", "A-2", "A-3", "A-4", "A-5")
	s.do(t, "A-1", func(event.SlingID) event.Body { return event.Retired{Reason: "worn", How: "cut"} })
	s.do(t, "A-2", func(event.SlingID) event.Body { return event.Lost{Note: "gone"} })
	s.do(t, "A-3", func(event.SlingID) event.Body { return event.Held{Reason: "dropped"} })
	s.do(t, "A-5", func(id event.SlingID) event.Body {
		return event.TagPrinted{Serial: tagcode.MaxSerial, Key: id.Key, Version: 5, Level: "H", Stock: "disc-70"}
	})
	for ident, want := range map[string]error{
		"A-1": print.ErrGone, "A-2": print.ErrGone, "A-3": nil, "A-4": print.ErrNamed, "A-5": print.ErrSerials,
		"A-6": store.ErrNotFound, "": store.ErrNotFound,
	} {
		tags, err := print.FromRegister(context.Background(), s.Reader, s.keys, []string{ident, "A-4"})
		if !errors.Is(err, want) || (err == nil) != (len(tags) == 2) {
			t.Errorf("sling %q: %d tags, error %v, want %v", ident, len(tags), err, want)
		}
	}
	// Of all means of all that can have one; what stands against each is told.
	_, err := print.FromRegister(context.Background(), s.Reader, s.keys, nil)
	if !errors.Is(err, print.ErrSerials) || errors.Is(err, print.ErrGone) {
		t.Errorf("all: error %v", err)
	}
	if _, err := print.FromRegister(context.Background(), s.Reader, keyring.Ring{}, nil); !errors.Is(err, keyring.ErrNoKey) {
		t.Errorf("without the key: error %v", err)
	}
}

// A tag that is not the next one any more is not recorded, and nothing of its
// run is.
func TestRecordRefusesWhatChanged(t *testing.T) {
	inspected := func(event.SlingID) event.Body {
		day, _ := quantity.NewDate(2026, 1, 5)
		return event.Inspected{Date: day, Outcome: tagcode.Fit, Service: due.Normal, Due: day.AddMonths(12), RatingTag: gate.TagLegible}
	}
	for name, c := range map[string]struct {
		meanwhile func(*shop)
		want      error
	}{
		"nothing":     {func(*shop) {}, nil},
		"held":        {func(s *shop) { s.do(t, "A-1", func(event.SlingID) event.Body { return event.Held{Reason: "dropped"} }) }, nil},
		"inspected":   {func(s *shop) { s.do(t, "A-1", inspected) }, print.ErrChanged},
		"printed too": {func(s *shop) { _ = s.record(s.next(t, "A-1"), t) }, print.ErrChanged},
	} {
		s := open(t, "", "A-0", "A-1")
		tags := s.next(t)
		c.meanwhile(s)
		if err := s.record(tags, t); !errors.Is(err, c.want) {
			t.Errorf("%s meanwhile: error %v, want %v", name, err, c.want)
		}
		a0, err := s.SlingByIdent(context.Background(), "A-0")
		if err != nil {
			t.Fatal(err)
		}
		if recorded := len(a0.Tags) == 1; recorded != (c.want == nil) {
			t.Errorf("%s meanwhile: the other sling of the run has %d tags", name, len(a0.Tags))
		}
	}
}

// A tag that was printed is drawn again as it was, and not once the record says
// something else.
func TestAgain(t *testing.T) {
	s := open(t, "HTTPS://H.EXAMPLE/", "A-1")
	tags := s.next(t, "A-1")
	if err := s.record(tags, t); err != nil {
		t.Fatal(err)
	}
	again := func() (print.Tag, error) {
		sling, err := s.SlingByIdent(context.Background(), "A-1")
		if err != nil {
			t.Fatal(err)
		}
		return print.Again(sling, sling.Tags[0], s.keys, "HTTPS://H.EXAMPLE/")
	}
	if tag, err := again(); err != nil || tag != tags[0] {
		t.Errorf("drawn again as %+v, %v", tag, err)
	}
	sling, err := s.SlingByIdent(context.Background(), "A-1")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := print.Again(sling, sling.Tags[0], s.keys, ""); !errors.Is(err, print.ErrChanged) {
		t.Errorf("with another prefix: error %v", err)
	}
	if _, err := print.Again(sling, sling.Tags[0], keyring.Ring{}, "HTTPS://H.EXAMPLE/"); !errors.Is(err, keyring.ErrNoKey) {
		t.Errorf("without the key: error %v", err)
	}
	day, _ := quantity.NewDate(2026, 1, 5)
	s.do(t, "A-1", func(event.SlingID) event.Body {
		return event.Inspected{Date: day, Outcome: tagcode.Fit, Service: due.Normal, Due: day.AddMonths(12), RatingTag: gate.TagLegible}
	})
	if _, err := again(); !errors.Is(err, print.ErrChanged) {
		t.Errorf("after an inspection: error %v", err)
	}
}

// A stream holds what the file does.
func TestStream(t *testing.T) {
	tag := one(t, line)
	for _, format := range []print.Format{print.PDF, print.SVG, print.PNG} {
		j := print.Job{Stock: stock(t, "disc-70"), DPI: 203, Out: filepath.Join(t.TempDir(), "tag"+string(format))}
		if _, err := j.Write(context.Background(), []print.Tag{tag}, nil); err != nil {
			t.Fatal(err)
		}
		want, err := os.ReadFile(j.Out)
		if err != nil {
			t.Fatal(err)
		}
		var got bytes.Buffer
		if err := j.Stream(context.Background(), &got, format, tag); err != nil || !bytes.Equal(got.Bytes(), want) {
			t.Errorf("%s: %d bytes, %v; the file has %d", format, got.Len(), err, len(want))
		}
	}
	var got bytes.Buffer
	if err := (print.Job{}).Stream(context.Background(), &got, ".txt", tag); err == nil || got.Len() > 0 {
		t.Errorf("without a stock and format: %d bytes, %v", got.Len(), err)
	}
}

// Runs at one time never give a serial twice: what is written is recorded, and
// what cannot be recorded is not written.
func TestRunsAtOnce(t *testing.T) {
	s := open(t, "", "A-1", "A-2")
	dir := t.TempDir()
	const runs = 8
	written := make([]bool, runs)
	var wg sync.WaitGroup
	for i := range runs {
		wg.Go(func() {
			tags, err := print.FromRegister(context.Background(), s.Reader, s.keys, nil)
			if err != nil {
				t.Error(err)
				return
			}
			j := print.Job{Stock: stock(t, "disc-70"), Out: filepath.Join(dir, string(rune('a'+i))+".svg")}
			_, err = j.Write(context.Background(), tags, s.recordDrawn)
			if written[i] = err == nil; err != nil && !errors.Is(err, print.ErrChanged) {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	n := 0
	for _, w := range written {
		if w {
			n++
		}
	}
	sling, err := s.SlingByIdent(context.Background(), "A-1")
	if err != nil {
		t.Fatal(err)
	}
	if n == 0 || len(sling.Tags) != n || sling.Doubt != 0 {
		t.Errorf("%d runs wrote, the register knows %d tags, doubt %d", n, len(sling.Tags), sling.Doubt)
	}
	if files := strings.Fields(listDir(t, dir)); len(files) != 2*n {
		t.Errorf("%d runs of two tags left %d files: %v", n, len(files), files)
	}
}
