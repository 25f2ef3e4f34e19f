package print

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// files are output files under way: each is written beside its name and gets
// it at the end, so that a run that fails leaves none.
type files struct {
	names, drafts []string
	kept          int    // how many have their names
	open          *draft // the one that is being written, if any
}

// A draft is a file that has not got its name yet.
type draft struct {
	*bufio.Writer
	file *os.File
	name string
}

// begin opens the draft of a file. One draft is open at a time.
func (f *files) begin(name string) (*draft, error) {
	name, err := filepath.Abs(name)
	if err != nil {
		return nil, fmt.Errorf("print: write file: %w", err)
	}
	path := draftOf(name, os.Getpid())
	// A draft that a killed run left behind is of no use and is taken away.
	if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("print: write %s: %w", name, err)
	}
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return nil, fmt.Errorf("print: write %s: %w", name, err)
	}
	f.names, f.drafts = append(f.names, name), append(f.drafts, path)
	f.open = &draft{bufio.NewWriter(file), file, name}
	return f.open, nil
}

// end puts the open draft on the disk and closes it.
func (f *files) end() error {
	d := f.open
	f.open = nil
	if err := errors.Join(d.Flush(), d.file.Sync(), d.file.Close()); err != nil {
		return fmt.Errorf("print: write %s: %w", d.name, err)
	}
	return nil
}

// write draws one file.
func (f *files) write(name string, draw func(io.Writer) error) error {
	d, err := f.begin(name)
	if err != nil {
		return err
	}
	if err := draw(d); err != nil {
		return fmt.Errorf("print: write %s: %w", d.name, err)
	}
	return f.end()
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
	if f.open != nil {
		errs = append(errs, f.open.file.Close())
		f.open = nil
	}
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

// draftOf is where a process writes a file before it has its name.
func draftOf(name string, pid int) string {
	return filepath.Join(filepath.Dir(name), fmt.Sprintf(".%s.%d.part", filepath.Base(name), pid))
}

// Sweep removes from a directory the drafts of the files that ours names, where
// the process that wrote them has ended without giving them their names. It
// leaves those of a process that still runs.
func Sweep(dir string, ours func(name string) bool) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return fmt.Errorf("print: look for drafts: %w", err)
	}
	for _, e := range entries {
		name, pid, ok := parseDraft(e.Name())
		if !ok || !ours(name) || runs(pid) {
			continue
		}
		// Somebody else may have swept meanwhile.
		if err := os.Remove(filepath.Join(dir, e.Name())); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("print: remove a draft: %w", err)
		}
	}
	return nil
}

// parseDraft reads the name of a draft.
func parseDraft(draft string) (name string, pid int, ok bool) {
	inner, isPart := strings.CutSuffix(draft, ".part")
	inner, isHidden := strings.CutPrefix(inner, ".")
	dot := strings.LastIndexByte(inner, '.')
	if !isPart || !isHidden || dot < 1 {
		return "", 0, false
	}
	pid, err := strconv.Atoi(inner[dot+1:])
	if err != nil || pid < 1 || strconv.Itoa(pid) != inner[dot+1:] {
		return "", 0, false
	}
	return inner[:dot], pid, true
}

// runs tells whether there is a process of that number. Where that cannot be
// told, there is.
func runs(pid int) bool {
	p, err := os.FindProcess(pid)
	if err != nil { // of the systems that tell so here
		return false
	}
	defer p.Release() // frees memory only
	return !errors.Is(p.Signal(syscall.Signal(0)), os.ErrProcessDone)
}
