package store

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"cribgate/store/durable"
	"cribgate/store/sqlite"
)

// A CopyFile is a copy of a register as its name tells it. Only opening it says
// more.
type CopyFile struct {
	Path  string
	Log   string    // first eight hex digits of the log's id
	At    int64     // position of the last event in it
	Made  time.Time // when it was made, or made again
	Bytes int64
}

// The stages of making a copy and of bringing one back, for whoever shows how
// far it is.
const (
	StageCopy   = "copy"   // of pages
	StageVerify = "verify" // of events
)

// Copying is how a copy is made. The zero value does it as fast as the machine
// can.
type Copying struct {
	// Progress, if not nil, is told how far each stage is.
	Progress func(stage string, done, total int64)
	// Gently walks the copy's chain at a fraction of the speed, so that a counter
	// beside it does not feel it.
	Gently bool
}

// Copy makes a copy of the register in the directory dir, which it makes where
// it is missing, while others read and write. The copy is one file,
// register-LOG-POSITION.sqlite with the first eight digits of the log's id; it
// has that name only after it was opened, its chain walked and its present held
// against the story, as [Store.Verify] does, and lies on the disk then. One of
// the same position takes the place of the one before. It holds neither PINs nor
// keys.
//
// A register that does not hold is ErrDamaged, and its copy gets no name: an
// older one is worth more.
func (s *Store) Copy(ctx context.Context, dir string, how Copying) (CopyFile, error) {
	if how.Progress == nil {
		how.Progress = func(string, int64, int64) {}
	}
	c, err := s.copy(ctx, dir, how)
	if err != nil {
		return CopyFile{}, fmt.Errorf("store: copy to %s: %w", dir, explain(err))
	}
	return c, nil
}

func (s *Store) copy(ctx context.Context, dir string, how Copying) (c CopyFile, err error) {
	if err := durable.MakeDir(dir); err != nil {
		return c, err
	}
	if err := sweep(dir, s.o.Now()); err != nil {
		return c, err
	}
	draft, err := newDraft(dir)
	if err != nil {
		return c, err
	}
	defer func() { err = errors.Join(err, dropDraft(draft)) }()
	if err := s.db.CopyTo(ctx, draft, func(done, total int64) { how.Progress(StageCopy, done, total) }); err != nil {
		return c, err
	}
	head, err := s.checkCopy(ctx, draft, how)
	if err != nil {
		return c, err
	}
	path := filepath.Join(dir, copyName(head))
	if err := s.carryErasures(ctx, dir); err != nil {
		return c, err
	}
	if err := sqlite.Replace(draft, path); err != nil {
		return c, err
	}
	return copyFile(path)
}

// checkCopy verifies a copy of this register without writing to it.
func (s *Store) checkCopy(ctx context.Context, path string, how Copying) (head Head, err error) {
	layout, err := schema()
	if err != nil {
		return Head{}, err
	}
	db, err := sqlite.OpenCopy(ctx, path, layout)
	if err != nil {
		return Head{}, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	report, err := (&Store{Reader: Reader{db.Read}, db: db, o: s.o}).VerifyAs(ctx, Verification{
		Gently: how.Gently, Progress: func(done, total int64) { how.Progress(StageVerify, done, total) },
	})
	if err != nil {
		return Head{}, err
	}
	return report.Head, report.err()
}

// err is the first break as an error.
func (r Report) err() error {
	if r.Whole() {
		return nil
	}
	return fmt.Errorf("%w: %s", ErrDamaged, r.Breaks[0])
}

// copyName names the copy that ends with head.
func copyName(head Head) string {
	return fmt.Sprintf("register-%s-%d.sqlite", shortLog(head.Log.String()), head.At)
}

// shortLog is what a copy's name has of a log's id.
func shortLog(id string) string { return id[:8] }

var copyNames = regexp.MustCompile(`^register-([0-9a-f]{8})-([1-9][0-9]{0,17})\.sqlite$`)

// copyFile says what name and file say of a copy; the zero CopyFile where the
// name is none of a copy.
func copyFile(path string) (CopyFile, error) {
	name := copyNames.FindStringSubmatch(filepath.Base(path))
	if name == nil {
		return CopyFile{}, nil
	}
	at, err := strconv.ParseInt(name[2], 10, 64)
	if err != nil {
		return CopyFile{}, err
	}
	info, err := os.Stat(path)
	if err != nil {
		return CopyFile{}, err
	}
	return CopyFile{Path: path, Log: name[1], At: at, Made: info.ModTime(), Bytes: info.Size()}, nil
}

// Copies lists the copies of a log in a directory, by the first eight digits of
// its id, the newest first; of every log where it is empty. A directory that is
// not there has none.
func Copies(dir, log string) ([]CopyFile, error) {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("store: list copies: %w", err)
	}
	var list []CopyFile
	for _, e := range entries {
		c, err := copyFile(filepath.Join(dir, e.Name()))
		if errors.Is(err, fs.ErrNotExist) { // somebody has taken it away meanwhile
			continue
		}
		if err != nil {
			return nil, fmt.Errorf("store: list copies: %w", err)
		}
		if c.Path != "" && (log == "" || log == c.Log) {
			list = append(list, c)
		}
	}
	slices.SortFunc(list, func(a, b CopyFile) int {
		return cmp.Or(b.Made.Compare(a.Made), cmp.Compare(b.At, a.At), cmp.Compare(a.Path, b.Path))
	})
	return list, nil
}

// Keep says which copies of a log stay: the newest, and the newest of each day
// for some days back. The zero Keep keeps the newest one.
type Keep struct {
	Newest int
	Days   int
}

// Prune takes away the copies of a log that keep does not name, and gives what
// it took. Copies of other logs stay: they may be of another crib, or the last
// that is left of a register that was restored.
func Prune(dir, log string, keep Keep, now time.Time) (gone []CopyFile, err error) {
	list, err := Copies(dir, log)
	if err != nil {
		return nil, err
	}
	first := now.AddDate(0, 0, 1-keep.Days).Format(time.DateOnly)
	days := map[string]bool{}
	for i, c := range list {
		day := c.Made.In(now.Location()).Format(time.DateOnly)
		ofDay := keep.Days > 0 && day >= first && !days[day]
		days[day] = true
		if i < max(1, keep.Newest) || ofDay {
			continue
		}
		if err := os.Remove(c.Path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return gone, fmt.Errorf("store: take an old copy away: %w", err)
		}
		gone = append(gone, c)
	}
	return gone, nil
}

// What a draft is called while it is made, and how long one lies untouched
// before it is taken for left behind by a program that was killed.
const (
	draftBegin = ".register-"
	draftEnd   = ".draft"
	leftAfter  = time.Hour
)

func newDraft(dir string) (string, error) {
	f, err := os.CreateTemp(dir, draftBegin+"*"+draftEnd) // mode 0600
	if err != nil {
		return "", err
	}
	return f.Name(), f.Close()
}

// besides are the endings of what SQLite lays beside a file.
var besides = [...]string{"", "-wal", "-shm", "-journal"}

// dropDraft takes a draft away that has got no name.
func dropDraft(draft string) (err error) {
	for _, end := range besides {
		if rmErr := os.Remove(draft + end); rmErr != nil && !errors.Is(rmErr, fs.ErrNotExist) {
			err = errors.Join(err, rmErr)
		}
	}
	return err
}

func isDraft(name string) bool {
	for _, end := range besides {
		if strings.HasPrefix(name, draftBegin) && strings.HasSuffix(name, draftEnd+end) {
			return true
		}
	}
	return false
}

// Vacant reports whether a register can be made in dir: there is no such directory,
// or nothing in it but what a copy left that was cut short.
func Vacant(dir string) (bool, error) {
	list, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return true, nil
	}
	if err != nil {
		return false, fmt.Errorf("store: look into %s: %w", dir, err)
	}
	return !slices.ContainsFunc(list, func(e fs.DirEntry) bool { return !isDraft(e.Name()) }), nil
}

// sweep takes away what killed programs left.
func sweep(dir string, now time.Time) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	for _, e := range entries {
		name := e.Name()
		if !isDraft(name) {
			continue
		}
		info, err := e.Info()
		if err == nil && now.Sub(info.ModTime()) > leftAfter {
			err = os.Remove(filepath.Join(dir, name))
		}
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return nil
}
