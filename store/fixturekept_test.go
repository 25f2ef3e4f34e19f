package store_test

import (
	"crypto/sha256"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/store"
	"cribgate/store/storetest"
)

// sums is the list of the fixtures' registers, as sha256sum writes it.
const sums = "testdata/SHA256SUMS"

// layouts are the numbers of the migrations.
func layouts(t *testing.T) []string {
	t.Helper()
	list, err := filepath.Glob("migrations/[0-9]*.sql")
	if err != nil || len(list) == 0 {
		t.Fatalf("no migrations: %v", err)
	}
	for i, path := range list {
		list[i], _, _ = strings.Cut(filepath.Base(path), "_")
	}
	return list
}

// wanted gives the names of the fixtures to be written.
func wanted(t *testing.T) (names []string) {
	t.Helper()
	newest := layouts(t)[len(layouts(t))-1]
	if _, err := os.Stat(filepath.Join("testdata", newest)); os.IsNotExist(err) {
		names = append(names, newest)
	}
	if *fixture != "" {
		if !strings.HasPrefix(*fixture, newest+"-") {
			t.Fatalf("a register that this program writes is of layout %s, so call it %s-…", newest, newest)
		}
		names = append(names, *fixture)
	}
	return names
}

// A register that was kept once is never changed, and there is one of every
// layout that a program has written.
func TestFixturesAreKept(t *testing.T) {
	listed := map[string]string{}
	text, err := os.ReadFile(sums)
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(text)) {
		sum, name, ok := strings.Cut(strings.TrimSuffix(line, "\n"), "  ")
		if _, twice := listed[name]; !ok || twice {
			t.Errorf("%s: %q is no line, or says it twice", sums, line)
		}
		listed[name] = sum
	}
	for _, dir := range fixtures(t) {
		name := filepath.Base(dir) + "/register.sqlite"
		file, err := os.ReadFile(filepath.Join(dir, "register.sqlite"))
		if err != nil {
			t.Error(err)
			continue
		}
		switch sum := fmt.Sprintf("%x", sha256.Sum256(file)); {
		case listed[name] == "" && *update:
			text = fmt.Appendf(text, "%s  %s\n", sum, name)
		case listed[name] == "":
			t.Errorf("%s is not in %s; if it is new: go test ./store -run Fixtures -update", name, sums)
		case listed[name] != sum:
			t.Errorf("%s was changed: it is what a program wrote, and programs to come must open it", name)
		}
		delete(listed, name)
		if got, want := layoutOf(t, file), filepath.Base(dir)[:4]; got != want {
			t.Errorf("%s is of layout %s", name, got)
		}
	}
	for name := range listed {
		t.Errorf("%s is in %s and gone", name, sums)
	}
	for _, n := range layouts(t) {
		if _, err := os.Stat(filepath.Join("testdata", n)); err != nil {
			t.Errorf("no register of layout %s is kept: go test ./store -run Fixtures -update: %v", n, err)
		}
	}
	if *update && !t.Failed() {
		if err := os.WriteFile(sums, text, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// layoutOf gives the number of the migration that a register's file stands at.
func layoutOf(t *testing.T, file []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "register.sqlite")
	if err := os.WriteFile(path, file, 0o600); err != nil {
		t.Fatal(err)
	}
	db, err := sql.Open("sqlite3", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var n int
	if err := db.QueryRow("PRAGMA user_version").Scan(&n); err != nil {
		t.Fatal(err)
	}
	return fmt.Sprintf("%04d", n)
}

// unkept are the kinds that no kept register has yet.
var unkept []event.Kind

// Kept registers have a fact of every kind, in its newest schema.
func TestFixturesHaveEveryKind(t *testing.T) {
	have := map[event.Kind]int{}
	for _, dir := range fixtures(t) {
		file, err := os.ReadFile(filepath.Join(dir, "register.sqlite"))
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), "register.sqlite")
		if err := os.WriteFile(path, file, 0o600); err != nil {
			t.Fatal(err)
		}
		list, err := storetest.Open(t, path, store.Options{Program: "test"}).Since(t.Context(), 0, store.MaxPage)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range list {
			have[r.Envelope.Kind] = max(have[r.Envelope.Kind], r.Envelope.Schema)
		}
	}
	for _, k := range event.Kinds() {
		if kept := have[k] == event.Newest(k); kept == slices.Contains(unkept, k) {
			t.Errorf("%s: the newest schema in a kept register is %d, of %d; listed as not kept: %v", k, have[k], event.Newest(k), !kept)
		}
	}
}
