package print

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// files are output files under way: each is written beside its name and gets
// it at the end, so that a run that fails leaves none.
type files struct {
	names, drafts []string
	kept          int // how many have their names
}

// write draws one file.
func (f *files) write(name string, draw func(io.Writer) error) (err error) {
	name, err = filepath.Abs(name)
	if err != nil {
		return fmt.Errorf("print: write file: %w", err)
	}
	// A draft that a killed run left behind is of no use and is taken away.
	draft := filepath.Join(filepath.Dir(name), fmt.Sprintf(".%s.%d.part", filepath.Base(name), os.Getpid()))
	if err := os.Remove(draft); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("print: write %s: %w", name, err)
	}
	file, err := os.OpenFile(draft, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return fmt.Errorf("print: write %s: %w", name, err)
	}
	f.names, f.drafts = append(f.names, name), append(f.drafts, draft)
	w := bufio.NewWriter(file)
	err = draw(w)
	if err == nil {
		err = w.Flush()
	}
	if err := errors.Join(err, file.Close()); err != nil {
		return fmt.Errorf("print: write %s: %w", name, err)
	}
	return nil
}

// keep gives the files their names.
func (f *files) keep() error {
	for i, name := range f.names {
		if err := os.Rename(f.drafts[i], name); err != nil {
			return fmt.Errorf("print: write %s: %w", name, err)
		}
		f.kept = i + 1
	}
	return nil
}

// drop removes what there is of the files.
func (f *files) drop() error {
	var errs []error
	for i, draft := range f.drafts {
		if i < f.kept {
			draft = f.names[i]
		}
		if err := os.Remove(draft); err != nil && !errors.Is(err, fs.ErrNotExist) {
			errs = append(errs, fmt.Errorf("print: remove %s: %w", draft, err))
		}
	}
	return errors.Join(errs...)
}
