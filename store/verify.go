package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"

	"cribgate/core/event"
	"cribgate/core/state"
)

// Report is what Verify found.
type Report struct {
	Head   Head    // end of the chain that was walked
	Events int64   // events walked
	Breaks []Break // what is wrong, in the order it was found; at most MaxBreaks
}

// MaxBreaks is how many breaks are told of; one is enough to stop using a file.
const MaxBreaks = 100

// Break is one thing that is wrong.
type Break struct {
	At  int64  // position in the log; 0 where it is about the file or the present
	Why string // a sentence
}

// String names the place and the reason.
func (b Break) String() string {
	if b.At == 0 {
		return b.Why
	}
	return fmt.Sprintf("position %d: %s", b.At, b.Why)
}

// Whole reports whether nothing is wrong.
func (r Report) Whole() bool { return len(r.Breaks) == 0 }

// Verify walks the whole log once and says where it breaks: positions without a
// gap, each envelope the one that the next names, each body the one that its
// envelope commits to and readable, each parent an earlier event of the same
// subject. It then holds the present against the fold of what it walked. A
// register that was rewritten from some position on throughout is whole in
// itself; only a head that was printed before shows that.
//
// progress, if not nil, is called now and then with events done and to do. The
// present of the whole crib is in memory meanwhile, some 2 KB for each sling.
// Others may read and write while it goes on. The error is for what kept Verify
// from looking, not for what it found.
func (s *Store) Verify(ctx context.Context, progress func(done, total int64)) (Report, error) {
	if progress == nil {
		progress = func(int64, int64) {}
	}
	v := &verifier{progress: progress, slings: map[event.SlingID]*entry[state.Sling]{}, people: map[event.PersonID]*entry[state.Person]{}}
	err := v.file(ctx, s.q)
	if err == nil {
		err = v.walk(ctx, s.Reader)
	}
	if err == nil && v.walked {
		err = s.snapshot(ctx, func(r Reader) error {
			if err := v.walk(ctx, r); err != nil { // what was recorded meanwhile
				return err
			}
			return v.compare(ctx, r)
		})
	}
	if errors.Is(err, ErrDamaged) {
		v.report(v.link.at+1, "it cannot be read: %v", err)
		err = nil
	}
	if err != nil {
		return Report{}, fmt.Errorf("store: verify: %w", err)
	}
	v.found.Head.At, v.found.Head.Hash = v.link.at, v.link.hash
	return v.found, nil
}

type verifier struct {
	progress func(done, total int64)
	found    Report
	link     link
	walked   bool // to the end, without finding a row that cannot be read
	crib     entry[state.Crib]
	people   map[event.PersonID]*entry[state.Person]
	slings   map[event.SlingID]*entry[state.Sling]
}

func (v *verifier) report(at int64, format string, args ...any) {
	if len(v.found.Breaks) < MaxBreaks {
		v.found.Breaks = append(v.found.Breaks, Break{At: at, Why: fmt.Sprintf(format, args...)})
	}
}

// file asks SQLite whether the pages of the file hang together.
func (v *verifier) file(ctx context.Context, q querier) error {
	return each(ctx, q, func(rows *sql.Rows) error {
		var text string
		if err := rows.Scan(&text); err != nil {
			return err
		}
		if text != "ok" {
			v.report(0, "the file is damaged: %s", text)
		}
		return nil
	}, "PRAGMA quick_check(10)")
}

// walk goes on from where it stopped to the end of the log.
func (v *verifier) walk(ctx context.Context, r Reader) error {
	head, err := r.Head(ctx)
	if err != nil {
		return err
	}
	err = r.walk(ctx, v.link.at, func(rows []checked) error {
		for i := range rows {
			if err := v.next(ctx, r, &rows[i]); err != nil {
				return err
			}
		}
		v.progress(v.link.at, max(head.At, v.link.at))
		return nil
	})
	if err != nil {
		return err
	}
	v.walked = true
	v.found.Head.Time = head.Time
	return nil
}

// next links one row and adds its event to its story.
func (v *verifier) next(ctx context.Context, r Reader, c *checked) error {
	v.found.Events++
	broken := v.link.follow(c)
	if broken == nil {
		broken = c.bodyErr
	}
	if broken != nil {
		v.report(c.pos, "%v", broken)
	}
	if c.err != nil {
		return nil
	}
	v.found.Head.Log, v.found.Head.Crib = c.envelope.Log, c.envelope.Crib
	e, ev := v.entry(c.envelope.Subject), c.event()
	if !slices.Equal(e.heads(), ev.Parents) {
		if err := v.parents(ctx, r, c); err != nil {
			return err
		}
	}
	e.add(ev)
	return nil
}

func (v *verifier) entry(s event.Subject) told {
	switch s.Kind() {
	case event.OfPerson:
		e := v.people[s.Person()]
		if e == nil {
			e = &entry[state.Person]{now: state.Person{ID: s.Person()}}
			v.people[s.Person()] = e
		}
		return e
	case event.OfSling:
		e := v.slings[s.Sling()]
		if e == nil {
			e = &entry[state.Sling]{now: state.Sling{ID: s.Sling()}}
			v.slings[s.Sling()] = e
		}
		return e
	}
	return &v.crib
}

// parents looks for the parents of an event that does not simply follow.
func (v *verifier) parents(ctx context.Context, r Reader, c *checked) error {
	earlier := map[event.Hash]bool{}
	err := eachRow(ctx, r.q, func(w row) error {
		if w.pos < c.pos {
			earlier[event.HashOf(w.envelope)] = true
		}
		return nil
	}, sqlStory, c.envelope.Subject.String())
	for _, p := range c.envelope.Parents {
		if !earlier[p] {
			v.report(c.pos, "it names a parent that is no earlier event of %s", c.subject)
			break
		}
	}
	return err
}
