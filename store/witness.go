package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"cribgate/core/event"
	"cribgate/core/tagcode"
	"cribgate/store/sqlite"
)

// A Witness knows what the log was: a head on paper, or a copy. It sees every
// envelope of the log pass once; that of a damaged row too.
type Witness interface {
	passes(ctx context.Context, at int64, hash event.Hash) error
	ended(ctx context.Context, at int64) (*Compared, error)
}

// ErrWitness says that a witness cannot be read, which says nothing of the
// register.
var ErrWitness = errors.New("the copy that the register is to be held against cannot be read")

// Compared is what came of holding a log against a witness.
type Compared struct {
	Paper       bool // against a head on paper, otherwise a copy
	Here, There int64
	Differ      []Span // where they differ, in order; at most MaxBreaks, of which the last then reaches to the end
}

// Span is a row of positions.
type Span struct{ From, To int64 }

// Holds reports whether everything that the witness knows is in the log.
func (c Compared) Holds() bool { return len(c.Differ) == 0 && c.Here >= c.There }

// String says it in a sentence.
func (c Compared) String() string {
	switch {
	case c.Paper && len(c.Differ) > 0:
		return fmt.Sprintf("was rewritten at or before %d, or the paper is another register's", c.There)
	case c.Paper && c.Here < c.There:
		return fmt.Sprintf("ends at %d, before position %d of the paper: its end is gone, or it is an older copy, or the paper is another register's", c.Here, c.There)
	case c.Paper:
		return fmt.Sprintf("holds: position %d is as on the paper", c.There)
	case len(c.Differ) > 0:
		parts := make([]string, len(c.Differ))
		for i, s := range c.Differ {
			parts[i] = s.String()
		}
		return fmt.Sprintf("parts from the copy at %d; different: %s", c.Differ[0].From, strings.Join(parts, ", "))
	case c.Here < c.There:
		return fmt.Sprintf("ends at %d, the copy at %d: what came between is not here", c.Here, c.There)
	}
	return fmt.Sprintf("holds: positions 1 to %d are as in the copy", c.There)
}

// String gives one position, or the first and the last.
func (s Span) String() string {
	if s.From == s.To {
		return strconv.FormatInt(s.From, 10)
	}
	return fmt.Sprintf("%d to %d", s.From, s.To)
}

func (c *Compared) differs(at int64) {
	n := len(c.Differ)
	if n > 0 && (c.Differ[n-1].To == at-1 || n == MaxBreaks) {
		c.Differ[n-1].To = at
		return
	}
	c.Differ = append(c.Differ, Span{at, at})
}

// Paper is the witness that a sheet with a head is.
func Paper(h tagcode.ShownHead) Witness {
	return &paper{head: h, found: Compared{Paper: true, There: h.At}}
}

type paper struct {
	head  tagcode.ShownHead
	found Compared
	seen  bool
}

func (p *paper) passes(_ context.Context, at int64, hash event.Hash) error {
	if at == p.head.At {
		p.seen = true
		if !p.head.Holds(hash) {
			p.found.differs(at)
		}
	}
	return nil
}

func (p *paper) ended(_ context.Context, at int64) (*Compared, error) {
	p.found.Here = at
	if !p.seen && at >= p.head.At { // the position is gone from the middle
		p.found.differs(p.head.At)
	}
	return &p.found, nil
}

// CopyWitness is the witness that a copy of the register is: every envelope of
// both is compared, as far as the shorter one goes. It is for one verification.
type CopyWitness struct {
	db    *sqlite.DB
	path  string
	rows  []copied // read and not passed yet
	last  int64    // position of the last row read
	read  bool     // to the end
	found Compared
}

type copied struct {
	at  int64
	sum event.Hash
}

// OpenWitness opens a copy for reading, of this layout or an older one. Nothing is
// written to it. Its errors are ErrWitness.
func OpenWitness(ctx context.Context, path string) (*CopyWitness, error) {
	layout, err := schema()
	if err != nil {
		return nil, fmt.Errorf("store: open copy %s: %w", path, err)
	}
	db, err := sqlite.OpenCopy(ctx, path, layout)
	if err != nil {
		return nil, fmt.Errorf("store: %w: %w", ErrWitness, err)
	}
	return &CopyWitness{db: db, path: path}, nil
}

// Close closes the file.
func (c *CopyWitness) Close() error {
	if err := c.db.Close(); err != nil {
		return fmt.Errorf("store: close copy %s: %w", c.path, err)
	}
	return nil
}

func (c *CopyWitness) passes(ctx context.Context, at int64, hash event.Hash) error {
	for {
		if err := c.fill(ctx); err != nil {
			return err
		}
		if len(c.rows) == 0 { // the log is longer than the copy
			return nil
		}
		next := c.rows[0]
		if next.at <= at {
			c.rows = c.rows[1:]
		}
		if next.at != at || next.sum != hash {
			c.found.differs(min(next.at, at)) // one of the two does not have it, or another one
		}
		if next.at >= at {
			return nil
		}
	}
}

func (c *CopyWitness) ended(ctx context.Context, at int64) (*Compared, error) {
	c.found.Here = at
	var end sql.NullInt64
	if err := c.db.Read.QueryRowContext(ctx, sqlEnd).Scan(&end); err != nil {
		return nil, c.unread(err)
	}
	c.found.There = end.Int64
	return &c.found, nil
}

// fill reads the next rows of the copy where there are none.
func (c *CopyWitness) fill(ctx context.Context) error {
	if len(c.rows) > 0 || c.read {
		return nil
	}
	c.rows = make([]copied, 0, stride)
	var envelope sql.RawBytes
	err := each(ctx, c.db.Read, func(rows cells) error {
		if err := rows.Scan(&c.last, &envelope); err != nil {
			return err
		}
		c.rows = append(c.rows, copied{c.last, event.HashOf(envelope)})
		return nil
	}, sqlEnvelopes, c.last, stride)
	if err != nil {
		return c.unread(err)
	}
	c.read = len(c.rows) < stride
	return nil
}

// unread keeps damage of the copy from passing for damage of the register.
func (c *CopyWitness) unread(err error) error {
	return fmt.Errorf("%w: %s: %s", ErrWitness, c.path, err)
}
