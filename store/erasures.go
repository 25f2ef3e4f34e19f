package store

import (
	"bytes"
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"cribgate/core/event"
	"cribgate/store/sqlite"
)

// erasuresFile lies beside the register and beside its copies, so that an older
// copy that is brought back is cleaned again before anybody uses it.
const erasuresFile = "erasures"

// ErrErasures reports a list of erasures that cannot be read, or is of another
// crib.
var ErrErasures = errors.New("the list of what was erased cannot be read; put back the one that lies beside the copies")

// A list is lines of text: what it is and of which crib, one line for each body in
// the order of positions, and how many there are. It has one spelling.
const (
	erasuresFirst = "crib-erasures 1 "
	erasuresLast  = "end "
)

func spellErasures(crib event.CribID, list []Erasure) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "%s%x\n", erasuresFirst, crib[:])
	for _, e := range list {
		fmt.Fprintf(&b, "%d %s %s\n", e.At, e.Hash, e.Left)
	}
	fmt.Fprintf(&b, "%s%d\n", erasuresLast, len(list))
	return b.Bytes()
}

// ParseErasures reads the list that lies beside a register or its copies.
func ParseErasures(text []byte) (event.CribID, []Erasure, error) {
	lines := strings.Split(string(text), "\n")
	if len(lines) < 3 || lines[len(lines)-1] != "" {
		return event.CribID{}, nil, ErrErasures
	}
	id, err := hex.DecodeString(strings.TrimPrefix(lines[0], erasuresFirst))
	if err != nil || len(id) != len(event.CribID{}) {
		return event.CribID{}, nil, ErrErasures
	}
	list := make([]Erasure, 0, len(lines)-3)
	for _, line := range lines[1 : len(lines)-2] {
		at, rest, _ := strings.Cut(line, " ")
		hash, left, _ := strings.Cut(rest, " ")
		e := Erasure{Left: left}
		if e.At, err = strconv.ParseInt(at, 10, 64); err != nil || e.At < 1 || len(list) > 0 && list[len(list)-1].At > e.At {
			return event.CribID{}, nil, ErrErasures
		}
		if e.Hash, err = event.ParseHash(hash); err != nil {
			return event.CribID{}, nil, ErrErasures
		}
		list = append(list, e)
	}
	if !bytes.Equal(spellErasures(event.CribID(id), list), text) {
		return event.CribID{}, nil, ErrErasures
	}
	return event.CribID(id), list, nil
}

// readErasures reads the list of a crib in a directory; none is an empty one.
func readErasures(dir string, crib event.CribID) ([]Erasure, error) {
	text, err := os.ReadFile(filepath.Join(dir, erasuresFile))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	of, list, err := ParseErasures(text)
	if err == nil && of != crib {
		err = fmt.Errorf("%w: it is of another crib", ErrErasures)
	}
	return list, err
}

// joinErasures gives what is on either list. Where both have a body, what the
// second says is left of it counts.
func joinErasures(a, b []Erasure) []Erasure {
	type key struct {
		at   int64
		hash event.Hash
	}
	all := make(map[key]Erasure, len(a)+len(b))
	for _, e := range slices.Concat(a, b) {
		all[key{e.At, e.Hash}] = e
	}
	return slices.SortedFunc(maps.Values(all), func(a, b Erasure) int {
		if a.At != b.At {
			return int(min(1, max(-1, a.At-b.At)))
		}
		return bytes.Compare(a.Hash[:], b.Hash[:])
	})
}

// writeErasures puts a list in the place of the one before, so that it outlasts a
// power cut.
func writeErasures(dir string, text []byte) (err error) {
	f, err := os.CreateTemp(dir, erasuresFile+".new-*") // mode 0600
	if err != nil {
		return err
	}
	draft := f.Name()
	defer func() {
		if rmErr := os.Remove(draft); rmErr != nil && !errors.Is(rmErr, fs.ErrNotExist) {
			err = errors.Join(err, rmErr)
		}
	}()
	_, err = f.Write(text)
	if err = errors.Join(err, f.Close()); err != nil {
		return err
	}
	return sqlite.Replace(draft, filepath.Join(dir, erasuresFile))
}

// erasureList is a list that was written before its act was committed.
type erasureList struct {
	dir    string
	before []byte // nil where there was none
}

// listErased writes down what the act erases.
func (s *Store) listErased(ctx context.Context, tx *Tx) (*erasureList, error) {
	dir := filepath.Dir(s.path)
	before, err := os.ReadFile(filepath.Join(dir, erasuresFile))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("store: the list of what was erased: %w", err)
	}
	if err := (Reader{tx.tx}).writeList(ctx, dir, tx.head.Crib); err != nil {
		return nil, fmt.Errorf("store: the list of what was erased: %w", err)
	}
	return &erasureList{dir: dir, before: before}, nil
}

// writeList adds what this register has erased to the list of a directory.
func (r Reader) writeList(ctx context.Context, dir string, crib event.CribID) error {
	old, err := readErasures(dir, crib)
	if err != nil {
		return err
	}
	now, err := r.Erasures(ctx)
	if err != nil {
		return err
	}
	all := joinErasures(old, now)
	if slices.Equal(all, old) {
		return nil
	}
	return writeErasures(dir, spellErasures(crib, all))
}

// settle takes the list back where nothing was erased. Where nobody knows whether
// it was, the list stays, and the act is done when the register is opened next.
func (l *erasureList) settle(err error) error {
	if l == nil || err == nil || errors.Is(err, sqlite.ErrUnknownOutcome) {
		return err
	}
	if l.before == nil {
		return errors.Join(err, os.Remove(filepath.Join(l.dir, erasuresFile)))
	}
	return errors.Join(err, writeErasures(l.dir, l.before))
}

// cleanAgain erases what the list beside the register says was erased, before
// anybody reads the register, and ends what a program that was ended has left
// undone.
func (s *Store) cleanAgain(ctx context.Context, dir string) error {
	err := s.eraseAgain(ctx, dir)
	if errors.Is(err, ErrErasures) { // the crib goes on working, and whoever reads the log is told
		s.o.Log.ErrorContext(ctx, "what was erased may be here again", "err", err)
		return nil
	}
	return err
}

// eraseAgain erases what the lists of directories say was erased. The last of
// them is the register's own, and its list has all of it then.
func (s *Store) eraseAgain(ctx context.Context, dirs ...string) error {
	head, err := s.Head(ctx)
	if err != nil {
		return err
	}
	for _, dir := range dirs {
		list, err := readErasures(dir, head.Crib)
		if err == nil {
			_, err = s.ApplyErasures(ctx, list)
		}
		if err != nil {
			return err
		}
	}
	if err := s.writeList(ctx, dirs[len(dirs)-1], head.Crib); err != nil {
		return err
	}
	s.sweepErased(ctx)
	return nil
}

// carryErasures puts the register's list beside its copies.
func (s *Store) carryErasures(ctx context.Context, dir string) error {
	head, err := s.Head(ctx)
	if err != nil {
		return err
	}
	list, err := readErasures(filepath.Dir(s.path), head.Crib)
	if err != nil {
		return err
	}
	if len(list) == 0 {
		return nil
	}
	there, err := readErasures(dir, head.Crib)
	if err != nil {
		return err
	}
	if all := joinErasures(there, list); !slices.Equal(all, there) {
		return writeErasures(dir, spellErasures(head.Crib, all))
	}
	return nil
}

// ApplyErasures erases again what a list says was erased, in a register that was
// brought back from an older copy. What is not in this register, or was erased in
// it before, is left out. It gives how many bodies were erased.
func (s *Store) ApplyErasures(ctx context.Context, list []Erasure) (n int, err error) {
	todo, err := s.Reader.toErase(ctx, list)
	if err != nil || len(todo) == 0 {
		return 0, err
	}
	_, err = s.Do(ctx, restoring, func(ctx context.Context, tx *Tx) ([]byte, error) {
		todo, err := Reader{tx.tx}.toErase(ctx, list) // another program may have been faster
		if err != nil {
			return nil, err
		}
		n = len(todo)
		return nil, tx.erase(ctx, todo, "it had been erased before this copy was brought back")
	})
	if err != nil {
		return 0, fmt.Errorf("store: erase again: %w", err)
	}
	return n, nil
}

// toErase gives those of a list that this register has and has not erased.
func (r Reader) toErase(ctx context.Context, list []Erasure) (todo []erasing, err error) {
	for _, e := range list {
		err := eachRow(ctx, r.q, func(w row) error {
			c := checked{row: w}
			c.check(new(event.Decoder))
			if c.pos != e.At || c.sum != e.Hash || c.gone() {
				return nil
			}
			if err := c.wrong(); err != nil {
				return err
			}
			left := event.ErasedBody{At: c.pos, Kind: c.envelope.Kind, Schema: c.envelope.Schema, Left: e.Left}
			todo = append(todo, erasing{subject: c.envelope.Subject, hash: c.sum, left: left})
			return nil
		}, sqlSince, e.At-1, 1)
		if err != nil {
			return nil, fmt.Errorf("store: what is to be erased again: %w", err)
		}
	}
	return todo, nil
}
