package bulk

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"

	"cribgate/core/tagcode"
	"cribgate/labeler/draft"
	"cribgate/labeler/print"
	"cribgate/labeler/sheet"
	"cribgate/store"
)

// A Run is a plan with the directory that its pages go to.
type Run struct {
	dir    string
	plan   Plan
	stocks *shelf
	proven map[string]bool    // stocks that the format suits
	again  bool               // an earlier process may have worked on it
	step   func(string) error // called before each step that outlasts the process; nil but in tests
}

// Start chooses the slings of an order and writes the plan of a new run into dir,
// which must be missing or empty. What speaks against the order as a whole, such
// as a resolution that is too coarse for a stock, comes out before that.
//
// It is a *RunError where dir holds something, and ErrNothing, joined with the
// reasons, where no sling is left.
func Start(ctx context.Context, r store.Reader, keys print.Keys, dir string, o Order) (*Run, error) {
	stands, err := standing(dir)
	if err != nil {
		return nil, err
	}
	if stands != ErrNoRun {
		return nil, &RunError{dir, stands}
	}
	stocks, err := shelfOf(o.Template)
	if err != nil {
		return nil, err
	}
	// No drawings: whether its paper holds together, and has that first place.
	if _, err := sheet.Compose(o.Template, nil, o.First); err != nil {
		return nil, fmt.Errorf("bulk: %w", err)
	}
	p, key, err := begin(ctx, r, keys, o)
	if err != nil {
		return nil, err
	}
	if p.Entries, p.Left, err = choose(ctx, r, key, p.Prefix, o, stocks); err != nil {
		return nil, err
	}
	if len(p.Entries) == 0 {
		return nil, nothing(p.Left)
	}
	run := &Run{dir: dir, plan: p, stocks: stocks, proven: map[string]bool{}}
	if err := run.proveAll(ctx, r, key); err != nil {
		return nil, err
	}
	return run, makeDir(dir, p)
}

// begin fills in what a plan says of the run as a whole.
func begin(ctx context.Context, r store.Reader, keys print.Keys, o Order) (Plan, tagcode.Key, error) {
	head, err := r.Head(ctx)
	if err != nil {
		return Plan{}, tagcode.Key{}, fmt.Errorf("bulk: %w", err)
	}
	crib, err := r.Crib(ctx)
	if err != nil {
		return Plan{}, tagcode.Key{}, fmt.Errorf("bulk: %w", err)
	}
	key, err := keys.Current(crib.Key())
	if err != nil {
		return Plan{}, tagcode.Key{}, fmt.Errorf("bulk: find the key of the register's tags: %w", err)
	}
	var id [16]byte
	rand.Read(id[:]) // does not fail
	return Plan{
		Run: hex.EncodeToString(id[:]), Log: head.Log.String(), Key: key.Fingerprint(), Prefix: crib.Founded.Policy.Prefix,
		Register: o.Register, Template: o.Template.Name, Own: o.Own,
		Format: o.Format, DPI: o.DPI, Outline: o.Outline, Period: o.Period, First: o.First,
	}, key, nil
}

// nothing says why no sling is left.
func nothing(left []Left) error {
	errs := []error{fmt.Errorf("bulk: %w", ErrNothing)}
	for _, l := range left {
		errs = append(errs, fmt.Errorf("%s: %s", l.Ident, l.Why))
	}
	return errors.Join(errs...)
}

// Resume takes up the run in dir. It is a *RunError where there is none, or where
// it is done.
func Resume(dir string) (*Run, error) {
	p, err := readDir(dir)
	if err != nil {
		return nil, err
	}
	stocks, err := reopen(p)
	if err != nil {
		return nil, err
	}
	return &Run{dir: dir, plan: p, stocks: stocks, proven: map[string]bool{}, again: true}, nil
}

// Plan is what the run has decided.
func (r *Run) Plan() Plan { return r.plan }

// Work does what is left of the run: it records the tags, draws them, gives the
// files their names and marks the run as done. progress, if not nil, is called
// now and then with the tags that are drawn and those that there are. Where Work
// fails, or ctx ends, the run can be taken up again.
func (r *Run) Work(ctx context.Context, s *store.Store, keys print.Keys, progress func(done, of int)) (Summary, error) {
	head, err := s.Head(ctx)
	if err != nil {
		return Summary{}, fmt.Errorf("bulk: %w", err)
	}
	if head.Log.String() != r.plan.Log {
		return Summary{}, fmt.Errorf("bulk: %s: %w: its log is %s, this one's %s", r.dir, ErrOther, r.plan.Log, head.Log)
	}
	if err := draft.Sweep(r.dir, func(string) bool { return true }); err != nil {
		return Summary{}, fmt.Errorf("bulk: %w", err)
	}
	w, err := r.newWork(ctx, s, keys)
	if err != nil {
		return Summary{}, err
	}
	summary, err := w.all(ctx, progress)
	if err != nil {
		return Summary{}, errors.Join(err, w.drop())
	}
	return summary, nil
}

// proveAll draws a tag on each stock of the plan to nowhere: of the first of its
// slings whose tag can be laid out at all, among a few.
func (r *Run) proveAll(ctx context.Context, reader store.Reader, key tagcode.Key) error {
	tries := map[string]int{}
	for _, e := range r.plan.Entries {
		if tries[e.Stock]++; r.proven[e.Stock] || tries[e.Stock] > 10 {
			continue
		}
		s, err := reader.SlingByIdent(ctx, e.Ident)
		if err != nil {
			return fmt.Errorf("bulk: %w", err)
		}
		job, err := r.job(e.Stock)
		if err != nil {
			return err
		}
		tag, err := print.Next(s, key, r.plan.Prefix)
		if err != nil {
			continue // it has changed; what stands against it is found when its turn comes
		}
		_, drawing, err := job.Draw(tag)
		if err != nil {
			continue // that tag, and not the stock; left out when its turn comes
		}
		if err := r.prove(e.Stock, job, drawing); err != nil {
			return err
		}
	}
	return nil
}

// prove makes sure, once for each stock, that what was laid out on it can be
// drawn in the run's format.
func (r *Run) prove(stock string, job print.Job, d sheet.Drawing) error {
	if r.proven[stock] {
		return nil
	}
	if err := job.Prove(d); err != nil {
		return err
	}
	r.proven[stock] = true
	return nil
}

func (r *Run) job(stock string) (print.Job, error) {
	st, err := r.stocks.open(stock)
	if err != nil {
		return print.Job{}, err
	}
	return r.plan.job(r.dir, st), nil
}
