package store_test

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/store"
	"cribgate/store/storetest"
)

// known are two people whose names stand in their own stories, in notes on slings
// and in what was asked under keys.
type known struct {
	t      *testing.T
	dir    string
	path   string
	s      *store.Store
	ward   event.PersonID
	yard   event.PersonID
	slings []state.Sling
}

func newKnown(t *testing.T) *known {
	t.Helper()
	k := &known{t: t, dir: t.TempDir()}
	k.path = filepath.Join(k.dir, "register.sqlite")
	s, _, err := store.Init(t.Context(), k.path, storetest.Founding(), store.Options{Program: "test"})
	if err != nil {
		t.Fatal(err)
	}
	k.s = s
	t.Cleanup(func() { k.closed() })
	for i, name := range []string{"Zebulon Ward", "Quentin Yard"} {
		id, err := event.NewPersonID(strings.NewReader(strings.Repeat(string(rune('a'+i)), 16)))
		if err != nil {
			t.Fatal(err)
		}
		k.tell(event.Person(id), event.PersonAdded{Name: name, Roles: event.Rigger}, event.PINSet{OneTime: true},
			event.PersonChanged{Name: name, Roles: event.Rigger}) // gone since
		if i == 0 {
			k.ward = id
		} else {
			k.yard = id
		}
	}
	for n := range 3 {
		sling := storetest.Register(t, s, n+1)
		k.tell(event.Sling(sling.ID), event.Held{Reason: fmt.Sprintf("zebulon ward saw Quentin Yard drag it, %d", n)}, event.Released{Reason: "looked at by ZEBULON WARD"})
		k.slings = append(k.slings, sling)
	}
	return k
}

func (k *known) closed() {
	k.t.Helper()
	report, err := k.s.Verify(context.Background(), nil)
	if err != nil || !report.Whole() {
		k.t.Errorf("%v, %v", report.Breaks, err)
	}
	if err := k.s.Close(); err != nil {
		k.t.Error(err)
	}
}

// tell appends bodies to a story, each under a key of its own.
func (k *known) tell(s event.Subject, bodies ...event.Body) {
	k.t.Helper()
	for _, b := range bodies {
		story, err := k.s.Story(k.t.Context(), s)
		if err != nil {
			k.t.Fatal(err)
		}
		var seen []event.Hash
		if len(story) > 0 {
			seen = []event.Hash{story[len(story)-1].Hash}
		}
		act := plain
		act.Key = fmt.Sprint(s, len(story))
		_, err = k.s.Do(k.t.Context(), act, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
			_, err := tx.Append(ctx, s, seen, b)
			return []byte("done"), err
		})
		if err != nil {
			k.t.Fatal(err)
		}
	}
}

func (k *known) erase(id event.PersonID) (n int) {
	k.t.Helper()
	_, err := k.s.Do(k.t.Context(), plain, func(ctx context.Context, tx *store.Tx) (_ []byte, err error) {
		n, err = tx.ErasePerson(ctx, id, "asked for")
		return nil, err
	})
	if err != nil {
		k.t.Fatal(err)
	}
	return n
}

// found gives the files of a directory that have one of the texts anywhere in
// them, in capitals or not.
func found(t *testing.T, dir string, texts ...string) (files []string) {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range list {
		data, err := os.ReadFile(filepath.Join(dir, f.Name()))
		if err != nil {
			t.Fatal(err)
		}
		for _, text := range texts {
			if bytes.Contains(bytes.ToLower(data), []byte(strings.ToLower(text))) {
				files = append(files, f.Name()+": "+text)
			}
		}
	}
	return files
}

func wholePresent(t *testing.T, s *store.Store) string {
	t.Helper()
	var b bytes.Buffer
	if err := s.Dump(t.Context(), &b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// The name is in no byte of any file when the act is done; the chain is whole, and
// what follows from the story is what followed before.
func TestEraseLeavesNoByte(t *testing.T) {
	k := newKnown(t)
	if files := found(t, k.dir, "Zebulon", "Ward"); len(files) == 0 {
		t.Fatal("the name is not there to begin with")
	}
	before, err := k.s.Since(t.Context(), 0, 1000)
	if err != nil {
		t.Fatal(err)
	}
	held := wholePresent(t, k.s)
	if n := k.erase(k.ward); n != 2+6 {
		t.Errorf("%d bodies were erased", n)
	}
	if files := found(t, k.dir, "Zebulon", "Ward"); len(files) > 0 {
		t.Errorf("the name is in %v", files)
	}
	if files := found(t, k.dir, "Quentin"); len(files) == 0 {
		t.Error("somebody else's name is gone as well")
	}
	report, err := k.s.Verify(t.Context(), nil)
	if err != nil || !report.Whole() || report.Erased != 8 {
		t.Errorf("%d erased, %v, %v", report.Erased, report.Breaks, err)
	}
	p, err := k.s.Person(t.Context(), k.ward)
	if err != nil || p.Name != event.InsteadOf(k.ward) || !p.Erased || p.Here || p.Roles != event.Rigger || p.Doubt != 0 {
		t.Errorf("%+v, %v", p, err)
	}
	after, err := k.s.Since(t.Context(), 0, 1000)
	if err != nil {
		t.Fatal(err)
	}
	for i, r := range before {
		if after[i].Hash != r.Hash || after[i].Erased != (after[i].Salt == [16]byte{}) {
			t.Errorf("position %d: %+v", i+1, after[i])
		}
	}
	sling, err := k.s.Sling(t.Context(), k.slings[0].ID)
	if err != nil || sling.Details.Sling.State.String() != "in" || sling.Doubt != 0 {
		t.Errorf("%+v, %v", sling, err)
	}
	now := wholePresent(t, k.s)
	if err := k.s.Rebuild(t.Context()); err != nil || wholePresent(t, k.s) != now {
		t.Errorf("rebuilt\n%s\nwant\n%s\n%v", wholePresent(t, k.s), now, err)
	}
	if strings.Count(now, "\n") != strings.Count(held, "\n") {
		t.Errorf("the present has other rows:\n%s\nwas\n%s", now, held)
	}
	if n := k.erase(k.ward); n != 0 {
		t.Errorf("%d bodies were erased once more", n)
	}
}

// Of a note with two names, the second goes as well, out of what was left when the
// first went.
func TestEraseTwoNamesOfOneNote(t *testing.T) {
	k := newKnown(t)
	k.erase(k.ward)
	k.erase(k.yard)
	if files := found(t, k.dir, "Zebulon", "Ward", "Quentin", "Yard"); len(files) > 0 {
		t.Errorf("a name is in %v", files)
	}
	story, err := k.s.Story(t.Context(), event.Sling(k.slings[2].ID))
	if err != nil {
		t.Fatal(err)
	}
	want := event.InsteadOf(k.ward) + " saw " + event.InsteadOf(k.yard) + " drag it, 2"
	for _, r := range story {
		if b, ok := r.Body.(event.Held); ok && b.Reason != want {
			t.Errorf("%+v", b)
		}
	}
	k.tell(event.Sling(k.slings[2].ID), event.Held{Reason: "once more"})
}

// An older copy that is brought back is cleaned by the list beside it, before
// anybody can open it.
func TestEraseInCopies(t *testing.T) {
	k := newKnown(t)
	copies := t.TempDir()
	old, err := k.s.Copy(t.Context(), copies, store.Copying{})
	if err != nil {
		t.Fatal(err)
	}
	k.tell(event.Sling(k.slings[0].ID), event.Held{Reason: "Zebulon Ward, after the copy"})
	k.erase(k.ward)
	k.erase(k.yard)
	if _, err := k.s.Copy(t.Context(), copies, store.Copying{}); err != nil { // and with it the list
		t.Fatal(err)
	}
	if files := found(t, copies, "Zebulon"); len(files) != 1 {
		t.Errorf("the name is in %v, want the old copy alone", files)
	}
	dir := t.TempDir()
	path := filepath.Join(dir, "register.sqlite")
	restored, err := store.Restore(t.Context(), old.Path, path, "the disk failed", store.Options{Program: "test"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if files := found(t, dir, "Zebulon", "Ward", "Quentin", "Yard"); len(files) > 0 {
		t.Errorf("brought back, a name is in %v", files)
	}
	s := storetest.Open(t, path, store.Options{Program: "test"})
	if end := head(t, s); restored.Head != end || end.At <= restored.From.At+1 {
		t.Errorf("the head that is told is %+v, the register ends at %+v", restored.Head, end)
	}
	report, err := s.Verify(t.Context(), nil)
	if err != nil || !report.Whole() || report.Erased != 4+6 {
		t.Errorf("%d erased, %v, %v", report.Erased, report.Breaks, err)
	}
	if p, err := s.Person(t.Context(), k.yard); err != nil || !p.Erased || p.Name != event.InsteadOf(k.yard) {
		t.Errorf("%+v, %v", p, err)
	}
	if list, err := os.ReadFile(filepath.Join(dir, "erasures")); err != nil || !bytes.Contains(list, []byte("\nend ")) {
		t.Errorf("%s, %v", list, err)
	}
}

// What is on the list and was not done, since the power went in between, is done
// when the register is opened next.
func TestEraseIsEnded(t *testing.T) {
	k := newKnown(t)
	copies := t.TempDir()
	c, err := k.s.Copy(t.Context(), copies, store.Copying{})
	if err != nil {
		t.Fatal(err)
	}
	k.erase(k.ward)
	before := filepath.Join(copies, "register.sqlite")
	list, err := os.ReadFile(filepath.Join(k.dir, "erasures"))
	if err == nil {
		err = errors.Join(os.WriteFile(filepath.Join(copies, "erasures"), list, 0o600), os.Rename(c.Path, before))
	}
	if err != nil {
		t.Fatal(err)
	}
	s := storetest.Open(t, before, store.Options{Program: "test"})
	if files := found(t, copies, "Zebulon"); len(files) > 0 {
		t.Errorf("the name is in %v", files)
	}
	if p, err := s.Person(t.Context(), k.ward); err != nil || !p.Erased {
		t.Errorf("%+v, %v", p, err)
	}
}

// Where the list cannot be written, nothing is erased.
func TestEraseNeedsItsList(t *testing.T) {
	k := newKnown(t)
	foreign := "crib-erasures 1 " + strings.Repeat("ab", 16) + "\nend 0\n"
	if err := os.WriteFile(filepath.Join(k.dir, "erasures"), []byte(foreign), 0o600); err != nil {
		t.Fatal(err)
	}
	before := head(t, k.s)
	_, err := k.s.Do(t.Context(), plain, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		_, err := tx.ErasePerson(ctx, k.ward, "asked for")
		return nil, err
	})
	if !errors.Is(err, store.ErrErasures) || head(t, k.s) != before {
		t.Errorf("%v", err)
	}
	if p, err := k.s.Person(t.Context(), k.ward); err != nil || p.Erased || p.Name != "Zebulon Ward" {
		t.Errorf("%+v, %v", p, err)
	}
	if text, err := os.ReadFile(filepath.Join(k.dir, "erasures")); err != nil || string(text) != foreign {
		t.Errorf("the list is %q, %v", text, err)
	}
	// An act that is not recorded takes its list back.
	if err := os.Remove(filepath.Join(k.dir, "erasures")); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	_, err = k.s.Do(ctx, plain, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		_, err := tx.ErasePerson(ctx, k.ward, "asked for")
		return nil, errors.Join(err, errNot)
	})
	cancel()
	if !errors.Is(err, errNot) || len(found(t, k.dir, "crib-erasures")) > 0 {
		t.Errorf("%v", err)
	}
}

var errNot = errors.New("not after all")

// Verify takes a body that is gone only where a later event of the chain says that
// it was erased, and what is left only as that event has it.
func TestVerifyFindsWhatIsMissing(t *testing.T) {
	const at = 4 // PersonAdded of the first
	for _, c := range []struct {
		name string
		do   []string
		why  string
	}{
		{"nothing done", nil, ""},
		{"a body gone without a word", []string{"DROP TRIGGER body_delete", "DELETE FROM body WHERE pos = 9"}, "its body is missing"},
		{"one that no event speaks of", []string{`INSERT INTO erased (pos, told, rest) VALUES (9, 10, CAST('{"reason":"x"}' AS BLOB))`, "DELETE FROM body WHERE pos = 9"}, "no event says that it was erased"},
		{"what is left is other than told", []string{"DROP TRIGGER erased_update", fmt.Sprintf(`UPDATE erased SET rest = CAST('{"name":"somebody","roles":[]}' AS BLOB) WHERE pos = %d`, at)}, "is not what position"},
		{"another event is said to have told so", []string{"DROP TRIGGER erased_update", "UPDATE erased SET told = told + 1 WHERE pos = 4"}, "is not what position"},
		{"what is left is of another kind", []string{"DROP TRIGGER erased_update", fmt.Sprintf(`UPDATE erased SET rest = CAST('{"reason":"x"}' AS BLOB) WHERE pos = %d`, at)}, "body"},
		{"the body came back", []string{"DROP TRIGGER body_erased", "INSERT INTO body SELECT * FROM was.body WHERE pos = 4"}, "was erased at position"},
		{"another body came", []string{"DROP TRIGGER body_erased", "INSERT INTO body VALUES (4, zeroblob(16), x'7b7d')"}, "commits to"},
		{"what is left is gone, too", []string{"DROP TRIGGER erased_delete", fmt.Sprintf("DELETE FROM erased WHERE pos = %d", at)}, "missing"},
	} {
		t.Run(c.name, func(t *testing.T) {
			k := newKnown(t)
			was, err := k.s.Copy(t.Context(), t.TempDir(), store.Copying{})
			if err != nil {
				t.Fatal(err)
			}
			k.erase(k.ward)
			path := filepath.Join(t.TempDir(), "register.sqlite")
			file, err := os.ReadFile(k.path)
			if err == nil {
				err = os.WriteFile(path, file, 0o600)
			}
			if err != nil {
				t.Fatal(err)
			}
			db, err := sql.Open("sqlite3", path+"?_foreign_keys=0")
			if err != nil {
				t.Fatal(err)
			}
			defer db.Close()
			db.SetMaxOpenConns(1)
			for _, statement := range append([]string{"ATTACH '" + was.Path + "' AS was"}, c.do...) {
				if _, err := db.Exec(statement); err != nil {
					t.Fatal(err)
				}
			}
			report, err := store.Unchecked(t, path).Verify(t.Context(), nil)
			if err != nil {
				t.Fatal(err)
			}
			if told := fmt.Sprint(report.Breaks); report.Whole() != (c.why == "") || !strings.Contains(told, c.why) {
				t.Errorf("found %s, want %q", told, c.why)
			}
		})
	}
}

// The file itself keeps its bodies but where they are erased.
func TestEraseGuards(t *testing.T) {
	k := newKnown(t)
	k.erase(k.ward)
	db, err := sql.Open("sqlite3", k.path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, statement := range []string{
		"DELETE FROM body WHERE pos = 9", "DELETE FROM erased", "UPDATE erased SET rest = '{}'", "UPDATE erased SET told = told + 1",
		"UPDATE erased SET swept = 0 WHERE swept = 1", "INSERT INTO erased (pos, told, rest) VALUES (9, 9, '{}')",
		"INSERT INTO body SELECT pos, zeroblob(16), rest FROM erased",
	} {
		if _, err := db.Exec(statement); err == nil {
			t.Errorf("%s: done", statement)
		}
	}
}

// A body that is erased while its register is verified is no break.
func TestEraseWhileVerified(t *testing.T) {
	k := newKnown(t)
	for range 100 {
		k.tell(event.Sling(k.slings[0].ID), event.Held{Reason: "x"}, event.Released{Reason: "y"}, event.Held{Reason: "by Zebulon Ward"}, event.Released{Reason: "z"})
	}
	once := false
	report, err := k.s.Verify(t.Context(), func(done, _ int64) {
		if !once {
			once = true
			k.erase(k.ward)
		}
	})
	if err != nil || !report.Whole() || report.Erased != 108 || !once {
		t.Errorf("%d erased, %v, %v", report.Erased, report.Breaks, err)
	}
}

// One line for each way in which a list is not the one spelling of it.
func TestParseErasures(t *testing.T) {
	crib := strings.Repeat("ab", 16)
	first, line := "crib-erasures 1 "+crib+"\n", "4 "+strings.Repeat("cd", 32)+` {"reason":""}`+"\n"
	later := "5" + line[1:]
	for _, c := range []struct {
		name, text string
		n          int // -1: refused
	}{
		{"none", first + "end 0\n", 0},
		{"one", first + line + "end 1\n", 1},
		{"two", first + line + later + "end 2\n", 2},
		{"nothing", "", -1},
		{"cut before its end", first + line, -1},
		{"cut within a line", first + line[:20], -1},
		{"no line feed at its end", first + line + "end 1", -1},
		{"another number at its end", first + line + "end 2\n", -1},
		{"more behind it", first + line + "end 1\n\n", -1},
		{"another version", strings.Replace(first, " 1 ", " 2 ", 1) + "end 0\n", -1},
		{"half a crib", first[:len(first)-3] + "\nend 0\n", -1},
		{"upper case", strings.ToUpper(first) + "end 0\n", -1},
		{"position 0", first + "0" + line[1:] + "end 1\n", -1},
		{"a position with a plus", first + "+" + line + "end 1\n", -1},
		{"not in order", first + later + line + "end 2\n", -1},
		{"half a hash", first + "4 cd {}\nend 1\n", -1},
	} {
		of, list, err := store.ParseErasures([]byte(c.text))
		if c.n < 0 {
			if !errors.Is(err, store.ErrErasures) || list != nil || of != (event.CribID{}) {
				t.Errorf("%s: %v, %v", c.name, list, err)
			}
			continue
		}
		if err != nil || len(list) != c.n || of[0] != 0xab {
			t.Errorf("%s: %v, %v", c.name, list, err)
		}
	}
}
