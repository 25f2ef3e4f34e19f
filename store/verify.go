package store

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"

	"cribgate/core/event"
	"cribgate/core/state"
)

// Report is what Verify found.
type Report struct {
	Head    Head      // end of the chain that was walked
	Events  int64     // events walked
	Erased  int64     // bodies that are gone, and that the chain says were erased
	Breaks  []Break   // what is wrong: the file first, then the log in its order, then the present; at most MaxBreaks
	Against *Compared // what came of holding it against a witness; nil where there is none, or the log cannot be read to its end
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

// Whole reports whether nothing is wrong with the register in itself. What it was
// held against says more: see [Compared].
func (r Report) Whole() bool { return len(r.Breaks) == 0 }

// Verification is how a register is verified. The zero value does it as fast as
// the machine can.
type Verification struct {
	// Progress, if not nil, is called now and then with events done and to do.
	Progress func(done, total int64)
	// Against is what the log is held against on the way; nil for nothing.
	Against Witness
	// Gently goes at a fraction of the speed, so that a counter beside it does not
	// feel it.
	Gently bool
}

// Verify is VerifyAs with nothing but progress, which may be nil.
func (s *Store) Verify(ctx context.Context, progress func(done, total int64)) (Report, error) {
	return s.VerifyAs(ctx, Verification{Progress: progress})
}

// VerifyAs walks the whole log once and says where it breaks: positions without a
// gap, each envelope the one that the next names, each body the one that its
// envelope commits to and readable, each parent an earlier event of the same
// subject. Beside that it has SQLite look at the file's pages. It then holds the
// present against the fold of what it walked. A register that was rewritten from
// some position on throughout is whole in itself; only a head that was printed
// before, or a copy, shows that: see [Witness].
//
// The present of the whole crib is in memory meanwhile, some 2 KB for each sling.
// Others may read and write while it goes on. The error is for what kept it from
// looking, not for what it found.
func (s *Store) VerifyAs(ctx context.Context, how Verification) (Report, error) {
	if how.Progress == nil {
		how.Progress = func(int64, int64) {}
	}
	v := &verifier{how: how, slings: map[event.SlingID]*entry[state.Sling]{}, people: map[event.PersonID]*entry[state.Person]{},
		drawn:   keeping[drawnRow]{of: drawnOf, walk: Reader.walkDrawn, to: math.MinInt64},
		planned: keeping[plannedRow]{of: plannedOf, walk: Reader.walkPlanned, to: math.MinInt64}}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	var file fileCheck
	var beside sync.WaitGroup
	beside.Go(func() { file.err = file.look(ctx, s.q) })
	err := v.log(ctx, s)
	switch {
	case errors.Is(err, ErrDamaged) && v.walked:
		v.report(0, "the present cannot be read or told again: %v", err)
		err = nil
	case errors.Is(err, ErrDamaged):
		v.report(v.link.at+1, "it cannot be read: %v", err)
		err = nil
	}
	if err == nil && v.walked && how.Against != nil {
		v.found.Against, err = how.Against.ended(ctx, v.link.at)
	}
	if err != nil {
		stop()
	}
	beside.Wait()
	if errors.Is(file.err, ErrDamaged) {
		file.say("it cannot be looked at: " + file.err.Error())
		file.err = nil
	}
	if err = cmp.Or(err, file.err); err != nil {
		return Report{}, fmt.Errorf("store: verify: %w", err)
	}
	v.found.Breaks = append(file.breaks, v.found.Breaks...)
	v.found.Breaks = v.found.Breaks[:min(len(v.found.Breaks), MaxBreaks)]
	v.found.Head.At, v.found.Head.Hash = v.link.at, v.link.hash
	return v.found, nil
}

// log walks the log, and holds the present against it.
func (v *verifier) log(ctx context.Context, s *Store) error {
	if err := v.walk(ctx, s.Reader, v.how.Gently); err != nil {
		return err
	}
	return s.snapshot(ctx, func(r Reader) error {
		if err := v.walk(ctx, r, false); err != nil { // what was recorded meanwhile
			return err
		}
		v.walked = true
		return v.compare(ctx, r)
	})
}

type verifier struct {
	how     Verification
	found   Report
	link    link
	walked  bool            // to the end
	named   map[int64]named // bodies that the chain says were erased
	crib    entry[state.Crib]
	people  map[event.PersonID]*entry[state.Person]
	slings  map[event.SlingID]*entry[state.Sling]
	drawn   keeping[drawnRow]
	planned keeping[plannedRow]
}

func (v *verifier) report(at int64, format string, args ...any) {
	if len(v.found.Breaks) < MaxBreaks {
		v.found.Breaks = append(v.found.Breaks, Break{At: at, Why: fmt.Sprintf(format, args...)})
	}
}

// fileCheck is what SQLite says of the pages of the file.
type fileCheck struct {
	breaks []Break
	err    error
}

func (f *fileCheck) say(text string) {
	f.breaks = append(f.breaks, Break{Why: "the file is damaged: " + text})
}

func (f *fileCheck) look(ctx context.Context, q querier) error {
	return each(ctx, q, func(rows cells) error {
		var text string
		if err := rows.Scan(&text); err != nil {
			return err
		}
		if text != "ok" {
			f.say(text)
		}
		return nil
	}, "PRAGMA quick_check(10)")
}

// walk goes on from where it stopped to the end of the log.
func (v *verifier) walk(ctx context.Context, r Reader, gently bool) error {
	var end sql.NullInt64
	if err := r.q.QueryRowContext(ctx, sqlEnd).Scan(&end); err != nil {
		return explain(err)
	}
	if !end.Valid {
		return damaged(0, "the log is empty")
	}
	return r.walk(ctx, v.link.at, gently, func(rows []checked) error {
		for i := range rows {
			if err := v.next(ctx, r, &rows[i]); err != nil {
				return err
			}
		}
		v.how.Progress(v.link.at, max(end.Int64, v.link.at))
		return nil
	})
}

// next links one row and adds its event to its story.
func (v *verifier) next(ctx context.Context, r Reader, c *checked) error {
	v.found.Events++
	if v.how.Against != nil {
		if err := v.how.Against.passes(ctx, c.pos, c.sum); err != nil {
			return err
		}
	}
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
	v.found.Head.Log, v.found.Head.Crib, v.found.Head.Time = c.envelope.Log, c.envelope.Crib, c.envelope.UTC
	e, ev := v.entry(c.envelope.Subject), c.event()
	if !slices.Equal(e.heads(), ev.Parents) {
		if err := v.parents(ctx, r, c); err != nil {
			return err
		}
	}
	e.add(ev)
	v.erasures(c)
	if err := v.drawn.passes(ctx, r, c); err != nil {
		return err
	}
	return v.planned.passes(ctx, r, c)
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
