package bulk_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/tagcode"
	"cribgate/labeler/bulk"
	"cribgate/labeler/print"
	"cribgate/printtemplates"
	"cribgate/store"
	"cribgate/store/keyring"
)

// A shop is a register with its keys.
type shop struct {
	*store.Store
	keys keyring.Ring
	key  tagcode.Key
	dir  string
}

// zeros is a source of one key, the same in every test.
type zeros struct{}

func (zeros) Read(p []byte) (int, error) { clear(p); return len(p), nil }

func open(t *testing.T, dir string) *shop {
	t.Helper()
	file, _, keyDir := store.Paths(dir)
	keys, err := keyring.Load(keyDir)
	if err != nil {
		t.Fatal(err)
	}
	s, err := store.Open(context.Background(), file, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		report, err := s.Verify(context.Background(), nil)
		if err != nil || !report.Whole() {
			t.Errorf("the register does not hold: %v, %v", report.Breaks, err)
		}
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	crib, err := s.Crib(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	key, err := keys.Current(crib.Key())
	if err != nil {
		t.Fatal(err)
	}
	return &shop{s, keys, key, dir}
}

// found makes a register with slings of those identifications.
func found(t *testing.T, idents ...string) *shop {
	t.Helper()
	dir := t.TempDir()
	file, _, keyDir := store.Paths(dir)
	key, err := keyring.Create(keyDir, zeros{})
	if err != nil {
		t.Fatal(err)
	}
	s, _, err := store.Init(t.Context(), file, store.Founding{
		Name: "Test crib", Units: quantity.Imperial, Rules: due.US, Zone: "UTC",
		Policy: event.Policy{MaxMonths: 12, MaxTilt: 5 * quantity.Degree, Prefix: "HTTPS://H.EXAMPLE/"},
		Key:    key.Fingerprint(), Keeper: "Keeper", Station: "test",
	}, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	sh := open(t, dir)
	for _, ident := range idents {
		sh.register(t, ident, func(*event.Details) {})
	}
	return sh
}

// again is the same register in a directory of its own.
func (s *shop) again(t *testing.T) *shop {
	t.Helper()
	dir := t.TempDir()
	if err := os.CopyFS(filepath.Join(dir, "crib"), os.DirFS(s.dir)); err != nil {
		t.Fatal(err)
	}
	return open(t, filepath.Join(dir, "crib"))
}

func day(t *testing.T, text string) quantity.Date {
	t.Helper()
	d, err := quantity.ParseDate(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func (s *shop) register(t *testing.T, ident string, change func(*event.Details)) {
	t.Helper()
	size, err := rating.ParseSize(rating.US, "3/8")
	if err != nil {
		t.Fatal(err)
	}
	inspected := day(t, "2026-03-10")
	d := event.Details{
		Ident: ident, Outcome: tagcode.Fit, Service: due.Normal,
		Sling: gate.Sling{
			Plate: rating.Plate{
				System: rating.US, Grade: rating.Grade80, Size: size, Legs: 2, Reach: 2400 * quantity.Millimetre,
				Stamped: []rating.Stamp{{Legs: 2, Basis: rating.H60, Load: 12300 * quantity.Pound}},
			},
			RatingTag: gate.TagLegible, State: gate.StateIn, Inspected: inspected, Due: inspected.AddMonths(12),
		},
	}
	change(&d)
	s.tell(t, ident, event.Registered{Details: d})
}

// tell appends one event to a sling's story.
func (s *shop) tell(t *testing.T, ident string, body event.Body) {
	t.Helper()
	id := event.SlingOf(s.key.Fingerprint(), ident)
	_, err := s.Do(context.Background(), store.Act{Station: "test", Way: "hand"}, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		sling, err := tx.Sling(ctx, id)
		if err != nil && !errors.Is(err, store.ErrNotFound) {
			return nil, err
		}
		_, err = tx.Append(ctx, event.Sling(id), sling.Heads, body)
		return nil, err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// print records a tag of that serial on that stock, as if it had been printed.
func (s *shop) print(t *testing.T, ident string, serial tagcode.Serial, stock string) {
	t.Helper()
	s.tell(t, ident, event.TagPrinted{
		Serial: serial, Key: s.key.Fingerprint(), Digest: tagcode.Digest(ident + stock), Version: 5, Level: "H", Stock: stock,
	})
}

// tags lists the tags that the register knows, one a line.
func (s *shop) tags(t *testing.T) string {
	t.Helper()
	var b strings.Builder
	for q := (store.Query{Limit: store.MaxPage}); ; {
		page, more, err := s.List(t.Context(), q)
		if err != nil {
			t.Fatal(err)
		}
		for _, sling := range page {
			for _, tag := range sling.Tags {
				fmt.Fprintf(&b, "%s %d %s %x\n", sling.Details.Ident, tag.Serial, tag.Stock, tag.Digest[:4])
			}
		}
		if q.After = more; more == "" {
			return b.String()
		}
	}
}

func stock(t *testing.T, name string) printtemplates.Stock {
	t.Helper()
	s, err := printtemplates.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// order is one of all slings on plate-50x80, as SVG, which is quick.
func order(t *testing.T) bulk.Order {
	t.Helper()
	return bulk.Order{Template: stock(t, "plate-50x80"), Format: print.SVG, Register: "register.sqlite"}
}

func (s *shop) run(t *testing.T, dir string, o bulk.Order) bulk.Summary {
	t.Helper()
	run, err := bulk.Start(t.Context(), s.Reader, s.keys, dir, o)
	if err != nil {
		t.Fatal(err)
	}
	summary, err := run.Work(t.Context(), s.Store, s.keys, nil)
	if err != nil {
		t.Fatal(err)
	}
	return summary
}

// files reads a directory.
func files(t *testing.T, dir string) map[string][]byte {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
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

func names[V any](m map[string]V) string {
	return strings.Join(slices.Sorted(maps.Keys(m)), " ")
}

// same holds the files of two runs against each other. Their plans differ by the
// run's id.
func same(t *testing.T, what string, got, want map[string][]byte) {
	t.Helper()
	if names(got) != names(want) {
		t.Errorf("%s: files %s, want %s", what, names(got), names(want))
		return
	}
	for name := range want {
		if name != "run.done" && !bytes.Equal(got[name], want[name]) {
			t.Errorf("%s: %s is another", what, name)
		}
	}
}

// report gives the lines of a report as fields by column, without its first line.
func report(t *testing.T, dir string) [][]string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dir, "report.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	var rows [][]string
	for i, line := range strings.Split(strings.TrimSuffix(string(text), "\n"), "\n") {
		fields := strings.Split(line, "\t")
		if len(fields) != 9 {
			t.Fatalf("line %d of the report has %d fields: %q", i+1, len(fields), line)
		}
		if i > 0 {
			rows = append(rows, fields)
		}
	}
	return rows
}
