package audit

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"cribgate/core/event"
	"cribgate/core/strict"
	"cribgate/store"
)

// Result is what one full verification came to. The zero Result is none.
type Result struct {
	Ended  time.Time // UTC, whole seconds
	Took   time.Duration
	At     int64 // position of the head
	Hash   event.Hash
	Breaks []string // the first of what is wrong, in sentences; none where the register holds
}

// kept is how many breaks are remembered: the rest is told by the verify command.
const kept = 10

func resultOf(r store.Report, begun, ended time.Time) Result {
	out := Result{Ended: ended.UTC().Truncate(time.Second), Took: ended.Sub(begun).Truncate(time.Millisecond), At: r.Head.At, Hash: r.Head.Hash}
	for _, b := range r.Breaks[:min(len(r.Breaks), kept)] {
		out.Breaks = append(out.Breaks, b.String())
	}
	return out
}

// Broken reports whether the register was found not to hold.
func (r Result) Broken() bool { return len(r.Breaks) > 0 }

// save puts the result in place of the one before.
func (r Result) save(file string) (err error) {
	var w strict.Writer
	w.Begin()
	w.Str("ended", r.Ended.Format(time.RFC3339))
	w.Int("took_ms", r.Took.Milliseconds())
	w.Int("at", r.At)
	w.Str("hash", r.Hash.String())
	w.Strs("breaks", r.Breaks)
	w.End()
	text, err := w.Bytes()
	if err != nil {
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(file), filepath.Base(file)+".new-*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.Remove(f.Name()))
		}
	}()
	_, err = f.Write(append(text, '\n'))
	if err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return err
	}
	return os.Rename(f.Name(), file)
}

// load reads what save wrote; the zero Result where there is no file.
func load(file string) (Result, error) {
	text, err := os.ReadFile(file)
	if errors.Is(err, fs.ErrNotExist) {
		return Result{}, nil
	}
	if err != nil {
		return Result{}, err
	}
	v, err := strict.Parse(text)
	if err != nil {
		return Result{}, fmt.Errorf("%s: %w", file, err)
	}
	o := strict.Open("verified", v)
	ended, timeErr := time.Parse(time.RFC3339, o.Str("ended"))
	hash, hashErr := event.ParseHash(o.Str("hash"))
	r := Result{
		Ended: ended.UTC(), Took: time.Duration(o.Int("took_ms", 0, 1<<40)) * time.Millisecond,
		At: o.Int("at", 0, 1<<62), Hash: hash, Breaks: o.Strs("breaks"),
	}
	if err := errors.Join(o.Done(), timeErr, hashErr); err != nil {
		return Result{}, fmt.Errorf("%s: %w", file, err)
	}
	return r, nil
}
