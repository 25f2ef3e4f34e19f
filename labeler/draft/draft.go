// Package draft writes files that get their names when they are whole. Until then
// a file lies beside its name as a draft, so that nobody ever finds half of one.
//
//	d, err := draft.Create("tags.pdf")   // .tags.pdf.4711.part
//	…                                    // write to d
//	err = d.End()                        // it is on the disk
//	err = d.Keep()                       // tags.pdf; or Drop
//
// A draft carries the number of the process that writes it. A process that is
// killed leaves its drafts behind; [Sweep] removes them, and those of no other.
package draft

import (
	"bufio"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// A Draft is a file that has not got its name yet. It is for one goroutine.
type Draft struct {
	buf  *bufio.Writer
	file *os.File // nil once it has ended
	name string   // absolute
	kept bool
}

// ErrDirectory is what Create wraps where a directory has the name.
var ErrDirectory = errors.New("a directory has that name")

// Create begins a file of that name, which need not be there and is not touched
// before Keep. The draft is a new file: what a link in its place leads to stays
// as it is.
func Create(name string) (*Draft, error) {
	name, err := filepath.Abs(name)
	if err != nil {
		return nil, fmt.Errorf("write file: %w", err)
	}
	// Said before anything is done that cannot be taken back.
	if there, err := os.Lstat(name); err == nil && there.IsDir() {
		return nil, fmt.Errorf("write %s: %w", name, ErrDirectory)
	}
	d := &Draft{name: name}
	// One that an earlier process of the same number left.
	if err := os.Remove(d.path()); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("write %s: %w", name, err)
	}
	if d.file, err = os.OpenFile(d.path(), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666); err != nil {
		return nil, fmt.Errorf("write %s: %w", name, err)
	}
	d.buf = bufio.NewWriter(d.file)
	return d, nil
}

func (d *Draft) path() string {
	return filepath.Join(filepath.Dir(d.name), fmt.Sprintf(".%s.%d.part", filepath.Base(d.name), os.Getpid()))
}

// Name is the name that the file will have.
func (d *Draft) Name() string { return d.name }

// Write adds to the file.
func (d *Draft) Write(p []byte) (int, error) {
	n, err := d.buf.Write(p)
	if err != nil {
		return n, fmt.Errorf("write %s: %w", d.name, err)
	}
	return n, nil
}

// End puts the file on the disk, where it outlasts a power cut, and closes it.
func (d *Draft) End() error {
	file := d.file
	d.file = nil
	if err := errors.Join(d.buf.Flush(), file.Sync(), file.Close()); err != nil {
		return fmt.Errorf("write %s: %w", d.name, err)
	}
	return nil
}

// Keep gives the file its name, in place of one that has it already.
func (d *Draft) Keep() error {
	if err := os.Rename(d.path(), d.name); err != nil {
		return fmt.Errorf("write %s: %w", d.name, err)
	}
	d.kept = true
	return nil
}

// Drop removes the file, whether or not it has its name.
func (d *Draft) Drop() error {
	var closed error
	if d.file != nil {
		closed, d.file = d.file.Close(), nil
	}
	path := d.path()
	if d.kept {
		path = d.name
	}
	if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return errors.Join(closed, fmt.Errorf("remove %s: %w", path, err))
	}
	return closed
}

// SyncDir makes the names in a directory outlast a power cut.
func SyncDir(dir string) (err error) {
	d, err := os.Open(dir)
	if err != nil {
		return fmt.Errorf("sync directory: %w", err)
	}
	defer func() { err = errors.Join(err, d.Close()) }()
	if err := d.Sync(); err != nil {
		return fmt.Errorf("sync directory: %w", err)
	}
	return nil
}

// Sweep removes from a directory the drafts of the files that ours names, where
// the process that wrote them has ended. It leaves those of a process that still
// runs, and takes the processes of this machine for all that there are.
func Sweep(dir string, ours func(name string) bool) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return fmt.Errorf("look for drafts: %w", err)
	}
	for _, e := range entries {
		name, pid, ok := parse(e.Name())
		if !ok || !ours(name) || runs(pid) {
			continue
		}
		// Somebody else may have swept meanwhile.
		if err := os.Remove(filepath.Join(dir, e.Name())); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("remove a draft: %w", err)
		}
	}
	return nil
}

// Is tells whether a file, by its name, is a draft.
func Is(file string) bool {
	_, _, ok := parse(file)
	return ok
}

// parse reads the name of a draft.
func parse(file string) (name string, pid int, ok bool) {
	inner, isPart := strings.CutSuffix(file, ".part")
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
	gone := errors.Is(p.Signal(syscall.Signal(0)), os.ErrProcessDone)
	_ = p.Release() // what is left is a number
	return !gone
}
