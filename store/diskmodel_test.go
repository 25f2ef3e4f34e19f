package store_test

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// sector is what a disk writes whole or not at all (common practice, no source;
// larger ones only tear at fewer places).
const sector = 512

// disk is a directory as a disk holds it: what a sync has made lasting, and what
// has been written since, of which after a power cut any part may be there. It
// assumes less than any file system that is in use promises: a new name lasts
// only when its directory was synced, and after a sync that failed what was
// written before is lost unless it is written again, though whoever reads it
// still sees it.
type disk struct {
	dir     string
	deaf    bool // syncs have no effect; the control of the test
	names   map[string]*inode
	lasting map[string]*inode
	renamed []naming
}

// naming gives a file a name, and takes another from it in the same moment.
type naming struct {
	done int // line
	name string
	to   *inode // nil: no such name
	from string // the name that it had, empty for none
}

type inode struct {
	made    bool // by the program that was recorded, which writes it from its beginning
	lasting []byte
	seen    []byte // by whoever reads it
	changes []*change
}

// change is a write or a truncation that is not lasting yet.
type change struct {
	done   int // line
	size   int // of the file afterwards
	from   int // first byte, at a sector's border
	bytes  []byte
	gone   map[int]bool // sectors, counted from first, that something lasting has taken the place of
	doomed bool         // a sync failed: no later one writes it
}

// newDisk takes what is in dir as lasting.
func newDisk(dir string) (*disk, error) {
	d := &disk{dir: dir, names: map[string]*inode{}}
	list, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	for _, e := range list {
		content, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			return nil, err
		}
		d.names[e.Name()] = &inode{lasting: content, seen: bytes.Clone(content)}
	}
	d.lasting = maps.Clone(d.names)
	return d, nil
}

// name gives the name of a path inside the directory. The index of the write-ahead
// log is left out: SQLite makes it anew when nobody has the file open.
func (d *disk) name(path string) (string, bool) {
	name, inside := strings.CutPrefix(path, d.dir+"/")
	return name, inside && !strings.HasSuffix(name, "-shm")
}

// about is the path that a call is about.
func about(c *call) string {
	if c.name == "copy_file_range" {
		return c.args[2]
	}
	if strings.HasSuffix(strings.TrimSuffix(c.name, "2"), "at") { // the first argument is where relative paths begin
		return c.args[1]
	}
	return c.args[0]
}

var errTrace = errors.New("the trace has what this test does not know")

// begin does what a call does as soon as it begins: from then on its bytes may be
// on the disk.
func (d *disk) begin(c *call) error {
	name, ours := d.name(about(c))
	if !ours || c.result < 0 {
		return nil
	}
	switch c.name {
	case "write":
		f := d.names[name]
		if f == nil || !f.made {
			return fmt.Errorf("%w: %s to %s", errTrace, c.name, name)
		}
		return d.change(c, name, len(f.seen), []byte(c.args[1])[:c.result])
	case "pwrite64":
		at, err := strconv.Atoi(c.args[3])
		if err != nil {
			return err
		}
		return d.change(c, name, at, []byte(c.args[1])[:c.result])
	case "copy_file_range":
		return d.copied(c, name)
	case "ftruncate":
		size, err := strconv.Atoi(c.args[1])
		if err != nil {
			return err
		}
		f := d.names[name]
		if f == nil {
			return fmt.Errorf("%w: %s of %s", errTrace, c.name, name)
		}
		f.seen = resized(f.seen, size)
		f.changes = append(f.changes, &change{done: c.done, size: size})
	case "openat":
		f := d.names[name]
		if strings.Contains(c.args[2], "O_TRUNC") && f != nil && len(f.seen) > 0 || strings.Contains(c.args[2], "O_APPEND") {
			return fmt.Errorf("%w: %s of %s", errTrace, c.args[2], name)
		}
	case "fsync", "fdatasync", "unlink", "unlinkat", "linkat", "rename", "renameat", "renameat2":
	default:
		return fmt.Errorf("%w: %s of %s", errTrace, c.name, name)
	}
	return nil
}

// copied is a part of a file that goes on in another where its last part ended.
func (d *disk) copied(c *call, name string) error {
	from, err := os.ReadFile(c.args[0])
	if err != nil {
		return err
	}
	f := d.names[name]
	if f == nil || !f.made || c.args[1] != "NULL" || c.args[3] != "NULL" || len(from) < len(f.seen)+int(c.result) {
		return fmt.Errorf("%w: %s to %s", errTrace, c.name, name)
	}
	return d.change(c, name, len(f.seen), from[len(f.seen):][:c.result])
}

func (d *disk) change(c *call, name string, at int, what []byte) error {
	f := d.names[name]
	if f == nil {
		return fmt.Errorf("%w: a write to %s", errTrace, name)
	}
	if len(f.seen) < at+len(what) {
		f.seen = resized(f.seen, at+len(what))
	}
	copy(f.seen[at:], what)
	from := at / sector * sector
	to := min((at+len(what)+sector-1)/sector*sector, len(f.seen))
	f.changes = append(f.changes, &change{done: c.done, size: len(f.seen), from: from, bytes: bytes.Clone(f.seen[from:to]), gone: map[int]bool{}})
	return nil
}

// end does what is certain when a call has returned.
func (d *disk) end(c *call) {
	synced := c.name == "fsync" || c.name == "fdatasync"
	path := about(c)
	name, ours := d.name(path)
	switch {
	case synced && path == d.dir && c.result >= 0 && !d.deaf:
		d.renamed = slices.DeleteFunc(d.renamed, func(n naming) bool {
			if n.done < c.begun {
				rename(d.lasting, n)
			}
			return n.done < c.begun
		})
	case !ours:
	case synced && d.names[name] != nil && !d.deaf:
		d.names[name].sync(c)
	case c.result < 0:
	case c.name == "openat":
		if d.names[name] == nil && strings.Contains(c.args[2], "O_CREAT") {
			d.rename(naming{done: c.done, name: name, to: &inode{made: true}})
		}
	case c.name == "unlink", c.name == "unlinkat":
		d.rename(naming{done: c.done, name: name})
	case c.name == "linkat":
		to, _ := d.name(c.args[3])
		d.rename(naming{done: c.done, name: to, to: d.names[name]})
	case c.name == "rename":
		to, _ := d.name(c.args[1])
		d.rename(naming{done: c.done, name: to, to: d.names[name], from: name})
	case c.name == "renameat", c.name == "renameat2":
		to, _ := d.name(c.args[3])
		d.rename(naming{done: c.done, name: to, to: d.names[name], from: name})
	}
}

func (d *disk) rename(n naming) {
	rename(d.names, n)
	d.renamed = append(d.renamed, n)
}

func rename(names map[string]*inode, n naming) {
	delete(names, n.from)
	if n.to == nil {
		delete(names, n.name)
	} else {
		names[n.name] = n.to
	}
}

// sync makes lasting what was written before the sync began, or where it failed
// gives that up.
func (f *inode) sync(c *call) {
	var left []*change
	for i, w := range f.changes {
		switch {
		case w.done >= c.begun || w.doomed:
			left = append(left, w)
		case c.result < 0:
			w.doomed = w.bytes != nil
			left = append(left, w)
		default:
			f.lasting = resized(f.lasting, w.size)
			copy(f.lasting[w.from:], w.bytes)
			for _, before := range f.changes[:i] {
				before.replaced(w)
			}
		}
	}
	f.changes = slices.DeleteFunc(left, func(w *change) bool { return w.doomed && len(w.gone) == (len(w.bytes)+sector-1)/sector })
}

// replaced forgets the sectors that another change has written or cut off.
func (w *change) replaced(by *change) {
	for at := 0; at < len(w.bytes); at += sector {
		if from := w.from + at; by.bytes == nil && from >= by.size || from >= by.from && from < by.from+len(by.bytes) {
			w.gone[at] = true
		}
	}
}

func resized(b []byte, size int) []byte {
	if size <= len(b) {
		return b[:size:size]
	}
	return append(b, make([]byte, size-len(b))...)
}

// cut writes into dir what the disk may hold when the power goes now.
func (d *disk) cut(r *rand.Rand, dir string) error {
	likely := []float64{0, 0.1, 0.5, 0.9, 1}[r.IntN(5)] // that something not yet lasting is there
	names := maps.Clone(d.lasting)
	stuck := map[string]bool{} // names whose later changes did not arrive
	for _, n := range d.renamed {
		if stuck[n.name] = stuck[n.name] || r.Float64() >= likely; !stuck[n.name] {
			rename(names, n)
		}
	}
	for name, f := range names {
		if err := os.WriteFile(filepath.Join(dir, name), f.cut(r, likely), 0o600); err != nil {
			return err
		}
		if strings.HasSuffix(name, "-wal") && r.IntN(2) == 0 { // an index may have stayed, and may say anything
			index := make([]byte, 32<<10)
			if r.IntN(2) == 0 {
				scribble(r, index)
			}
			if err := os.WriteFile(filepath.Join(dir, strings.TrimSuffix(name, "-wal")+"-shm"), index, 0o600); err != nil && !errors.Is(err, fs.ErrExist) {
				return err
			}
		}
	}
	return nil
}

// cut gives what of a file may be there: of each sector any state that it has
// had since the last sync, and where the file has grown over what did not arrive,
// anything.
func (f *inode) cut(r *rand.Rand, likely float64) []byte {
	b := bytes.Clone(f.lasting)
	grow := func(size int) {
		from := len(b)
		b = resized(b, size)
		if from < size && r.IntN(2) == 0 {
			scribble(r, b[from:])
		}
	}
	for _, w := range f.changes {
		if w.bytes == nil {
			if r.Float64() < likely {
				b = resized(b, min(len(b), w.size))
				grow(w.size)
			}
			continue
		}
		for at := 0; at < len(w.bytes); at += sector {
			if w.gone[at] || r.Float64() >= likely {
				continue
			}
			part := w.bytes[at:min(at+sector, len(w.bytes))]
			if len(b) < w.from+at+len(part) {
				grow(w.from + at + len(part))
			}
			copy(b[w.from+at:], part)
		}
	}
	return b
}

func scribble(r *rand.Rand, b []byte) {
	for i := range b {
		b[i] = byte(r.Uint32())
	}
}
