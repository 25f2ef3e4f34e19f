package store_test

import (
	"bufio"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/store"
	"cribgate/store/storetest"
)

// headIn opens a copy as a register of its own, has it walked, and gives its head.
func headIn(t *testing.T, copied string) store.Head {
	t.Helper()
	file, err := os.ReadFile(copied)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "register.sqlite")
	if err := os.WriteFile(path, file, 0o600); err != nil {
		t.Fatal(err)
	}
	s := storetest.Open(t, path, store.Options{Program: "test"})
	head, err := s.Head(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return head
}

// while plays a role in another process until the function that it gives is
// called.
func while(t *testing.T, role, path string) (end func()) {
	t.Helper()
	cmd := child(t, role, path)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewReader(out)
	if _, err := lines.ReadString('\n'); err != nil { // it is at work
		t.Fatal(err)
	}
	drained := make(chan error, 1)
	go func() {
		_, err := io.Copy(io.Discard, lines)
		drained <- err
	}()
	return func() {
		t.Helper()
		var ended *exec.ExitError
		if err := errors.Join(cmd.Process.Kill(), <-drained); err != nil {
			t.Error(err)
		}
		if err := cmd.Wait(); !errors.As(err, &ended) || ended.ExitCode() != -1 {
			t.Errorf("the child had ended before: %v", err)
		}
	}
}

// Copies that are made while another program writes with many clients hold, each
// up to one position of the same chain, and say as much in their names.
func TestCopyUnderLoad(t *testing.T) {
	s, _, path := storetest.New(t, store.Options{Program: "test"})
	for c := range clients {
		storetest.Register(t, s, c)
	}
	end := while(t, "load", path)
	dir := copiesOf(path)
	var made []store.CopyFile
	moved := s.Watch(t.Context())
	for last := int64(0); len(made) < 4; last = made[len(made)-1].At {
		for at := range moved { // it goes on between any two
			if at > last+10 {
				break
			}
		}
		steps := map[string]int64{}
		c, err := s.Copy(t.Context(), dir, store.Copying{Progress: func(stage string, done, total int64) { steps[stage] = max(steps[stage], done) }})
		if err != nil {
			t.Fatal(err)
		}
		if steps[store.StageCopy] == 0 || steps[store.StageVerify] != c.At {
			t.Errorf("progress %v of a copy up to %d", steps, c.At)
		}
		made = append(made, c)
	}
	end()
	for i, c := range made {
		head := headIn(t, c.Path)
		if want := fmt.Sprintf("register-%s-%d.sqlite", head.Log.String()[:8], head.At); filepath.Base(c.Path) != want || c.At != head.At {
			t.Errorf("%s ends at %d", c.Path, head.At)
		}
		if there, err := s.Since(t.Context(), head.At-1, 1); err != nil || len(there) != 1 || there[0].Hash != head.Hash {
			t.Errorf("position %d is another event in the copy, %v", head.At, err)
		}
		if i > 0 && c.At <= made[i-1].At {
			t.Errorf("a copy up to %d after one up to %d: nothing was written meanwhile", c.At, made[i-1].At)
		}
	}
	left, err := filepath.Glob(filepath.Join(dir, "*"))
	if err != nil || len(left) != len(made) {
		t.Errorf("in the directory of copies: %v, %v", left, err)
	}
	if info, err := os.Stat(made[0].Path); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("a copy is open to others: %v, %v", info.Mode(), err)
	}
}

// A program that is killed while it copies leaves no copy that does not hold, and
// what it left is swept away later.
func TestKilledCopy(t *testing.T) {
	r := random(t)
	s, _, path := storetest.New(t, store.Options{Program: "test"})
	dir := copiesOf(path)
	for round := range *rounds {
		cmd := child(t, "copies", path)
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		lines, made := bufio.NewScanner(out), 0
		after := 1 + r.IntN(20)
		for n := 1; lines.Scan(); n++ {
			if strings.HasPrefix(lines.Text(), "made ") {
				made++
			}
			if n == after {
				if err := cmd.Process.Kill(); err != nil {
					t.Fatal(err)
				}
			}
		}
		if err := cmd.Wait(); err == nil {
			t.Fatal("the child was not killed")
		}
		list, err := store.Copies(dir, "")
		if err != nil {
			t.Fatal(err)
		}
		if len(list) < made {
			t.Fatalf("round %d: %d copies of %d that were made", round, len(list), made)
		}
		for _, c := range list {
			if head := headIn(t, c.Path); head.At != c.At {
				t.Fatalf("round %d: %s ends at %d", round, c.Path, head.At)
			}
			if err := os.Remove(c.Path); err != nil {
				t.Fatal(err)
			}
		}
	}
	drafts, err := filepath.Glob(filepath.Join(dir, ".*"))
	if err != nil {
		t.Fatal(err)
	}
	fresh := filepath.Join(dir, ".register-1.draft")
	if err := os.WriteFile(fresh, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	for _, name := range drafts {
		if err := os.Chtimes(name, time.Time{}, time.Now().Add(-2*time.Hour)); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := s.Copy(t.Context(), dir, store.Copying{}); err != nil {
		t.Fatal(err)
	}
	if left, err := filepath.Glob(filepath.Join(dir, ".*")); err != nil || !slices.Equal(left, []string{fresh}) {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

// A register that does not hold is not copied: the older copy is worth more.
func TestDamagedIsNotCopied(t *testing.T) {
	path, _ := written(t)
	db, err := sql.Open("sqlite3", path)
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{"DROP TRIGGER body_update", "UPDATE body SET body = x'7b7d' WHERE pos = 7"} {
		if _, err := db.ExecContext(t.Context(), text); err != nil {
			t.Fatal(err)
		}
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	s := store.Unchecked(t, path)
	c, err := s.Copy(t.Context(), copiesOf(path), store.Copying{})
	if !errors.Is(err, store.ErrDamaged) || !strings.Contains(err.Error(), "position 7") || c != (store.CopyFile{}) {
		t.Errorf("%+v, %v", c, err)
	}
	if left, err := filepath.Glob(filepath.Join(copiesOf(path), "*")); err != nil || len(left) != 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
	if left, err := filepath.Glob(filepath.Join(copiesOf(path), ".*")); err != nil || len(left) != 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := s.Copy(ctx, copiesOf(path), store.Copying{}); !errors.Is(err, context.Canceled) {
		t.Errorf("a copy that was given up: %v", err)
	}
	if _, err := s.Copy(t.Context(), path, store.Copying{}); err == nil {
		t.Error("copied into a file")
	}
}

// Which copies stay: the newest, and the last of each day for some days back.
func TestPrune(t *testing.T) {
	now := time.Date(2026, 3, 10, 15, 0, 0, 0, time.UTC)
	ago := func(days, hours int) time.Time {
		return now.AddDate(0, 0, -days).Add(-time.Duration(hours) * time.Hour)
	}
	const ours, other = "0a0b0c0d", "ffffffff"
	all := []struct {
		log  string
		at   int64
		made time.Time
	}{
		{ours, 90, ago(0, 0)}, {ours, 80, ago(0, 1)}, {ours, 70, ago(0, 2)}, {ours, 60, ago(0, 15)}, // the last is of midnight
		{ours, 50, ago(1, 1)}, {ours, 40, ago(1, 2)}, {ours, 30, ago(2, 3)}, {ours, 20, ago(3, 3)}, {ours, 10, ago(9, 0)},
		{other, 5, ago(9, 0)},
	}
	for _, c := range []struct {
		keep store.Keep
		left []int64
	}{
		{store.Keep{}, []int64{90}},
		{store.Keep{Newest: 1}, []int64{90}},
		{store.Keep{Newest: 3}, []int64{90, 80, 70}},
		{store.Keep{Days: 1}, []int64{90}},
		{store.Keep{Days: 2}, []int64{90, 50}},
		{store.Keep{Newest: 2, Days: 3}, []int64{90, 80, 50, 30}},
		{store.Keep{Newest: 2, Days: 10}, []int64{90, 80, 50, 30, 20, 10}},
		{store.Keep{Newest: 6, Days: 1}, []int64{90, 80, 70, 60, 50, 40}},
		{store.Keep{Newest: 100}, []int64{90, 80, 70, 60, 50, 40, 30, 20, 10}},
	} {
		dir := t.TempDir()
		write := func(name string, made time.Time) {
			path := filepath.Join(dir, name)
			if err := errors.Join(os.WriteFile(path, nil, 0o600), os.Chtimes(path, made, made)); err != nil {
				t.Fatal(err)
			}
		}
		for _, f := range all {
			write(fmt.Sprintf("register-%s-%d.sqlite", f.log, f.at), f.made)
		}
		strangers := []string{"register-0a0b0c0d-07.sqlite", "register-0a0b0c0d-7.sqlite-wal", "register-0A0B0C0D-7.sqlite", "my register-0a0b0c0d-7.sqlite", "register.sqlite"}
		for _, name := range strangers {
			write(name, ago(20, 0))
		}
		gone, err := store.Prune(dir, ours, c.keep, now)
		if err != nil {
			t.Fatal(err)
		}
		list, err := store.Copies(dir, ours)
		if err != nil {
			t.Fatal(err)
		}
		var left []int64
		for _, f := range list {
			left = append(left, f.At)
		}
		if !slices.Equal(left, c.left) || len(gone)+len(left) != len(all)-1 {
			t.Errorf("%+v: %v are left, want %v; %d went", c.keep, left, c.left, len(gone))
		}
		if list, err := store.Copies(dir, other); err != nil || len(list) != 1 {
			t.Errorf("%+v: of another log are left %v, %v", c.keep, list, err)
		}
		for _, name := range strangers {
			if _, err := os.Lstat(filepath.Join(dir, name)); err != nil {
				t.Errorf("%+v: %v", c.keep, err)
			}
		}
	}
	if list, err := store.Copies(filepath.Join(t.TempDir(), "none"), ""); err != nil || list != nil {
		t.Errorf("%v, %v", list, err)
	}
}

// A copy of the same position takes the place of the one before.
func TestCopyAgain(t *testing.T) {
	clock := &storetest.Clock{T: time.Date(2026, 3, 2, 7, 0, 0, 0, time.UTC)}
	s, keeper, path := storetest.New(t, store.Options{Program: "test", Now: clock.Now})
	first, err := s.Copy(t.Context(), copiesOf(path), store.Copying{})
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Chtimes(first.Path, clock.T, clock.T); err != nil {
		t.Fatal(err)
	}
	again, err := s.Copy(t.Context(), copiesOf(path), store.Copying{})
	if err != nil || again.Path != first.Path || !again.Made.After(clock.T) {
		t.Errorf("%+v after %+v, %v", again, first, err)
	}
	p, err := s.Person(t.Context(), keeper)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Do(t.Context(), plain, appendAfter(event.Person(keeper), p.Heads, event.PINSet{})); err != nil {
		t.Fatal(err)
	}
	if next, err := s.Copy(t.Context(), copiesOf(path), store.Copying{}); err != nil || next.At != first.At+1 {
		t.Errorf("%+v, %v", next, err)
	}
	if list, err := store.Copies(copiesOf(path), ""); err != nil || len(list) != 2 {
		t.Errorf("%v, %v", list, err)
	}
}
