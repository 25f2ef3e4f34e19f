package bulk

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"

	"cribgate/core/tagcode"
	"cribgate/labeler/draft"
	"cribgate/labeler/print"
	"cribgate/store"
)

// partSize is how many tags are recorded in one act: few enough that others at
// the register do not wait, and that a killed run has little to find out.
const partSize = 64

// work is a run that goes on: what it draws on.
type work struct {
	*Run
	store   *store.Store
	keys    print.Keys
	key     tagcode.Key
	stale   string // why no new tag is made for this plan; empty where one is
	outs    map[string]*print.Output
	order   []string // stocks by first appearance
	report  *report
	summary Summary
}

// newWork begins the files of a run.
func (r *Run) newWork(ctx context.Context, s *store.Store, keys print.Keys) (*work, error) {
	crib, err := s.Crib(ctx)
	if err != nil {
		return nil, fmt.Errorf("bulk: %w", err)
	}
	w := &work{Run: r, store: s, keys: keys, outs: map[string]*print.Output{}}
	switch {
	case crib.Key() != r.plan.Key:
		w.stale = "the register seals its tags with another key by now"
	case crib.Founded.Policy.Prefix != r.plan.Prefix:
		w.stale = "the register's tags have another prefix"
	}
	if w.key, err = keys.Current(r.plan.Key); err != nil {
		return nil, fmt.Errorf("bulk: find the key of the run: %w", err)
	}
	tags := map[string]int{}
	for _, e := range r.plan.Entries {
		if tags[e.Stock]++; tags[e.Stock] == 1 {
			w.order = append(w.order, e.Stock)
		}
	}
	for _, stock := range w.order {
		job, err := r.job(stock)
		if err == nil {
			w.outs[stock], err = job.Begin(tags[stock])
		}
		if err != nil {
			return nil, errors.Join(err, w.drop())
		}
	}
	if w.report, err = newReport(filepath.Join(r.dir, reportFile)); err != nil {
		return nil, errors.Join(err, w.drop())
	}
	return w, nil
}

// drop removes what was begun.
func (w *work) drop() error {
	var errs []error
	for _, out := range w.outs {
		errs = append(errs, out.Drop())
	}
	if w.report != nil {
		errs = append(errs, w.report.Drop())
	}
	return errors.Join(errs...)
}

// all goes through the plan and finishes the run.
func (w *work) all(ctx context.Context, progress func(done, of int)) (Summary, error) {
	for _, l := range w.plan.Left {
		if err := w.leave(item{entry: Entry{Ident: l.Ident}, why: l.Why}); err != nil {
			return Summary{}, err
		}
	}
	entries := w.plan.Entries
	for n, at := 0, 0; at < len(entries); n, at = n+1, at+partSize {
		if err := ctx.Err(); err != nil {
			return Summary{}, fmt.Errorf("bulk: %w", err)
		}
		part := entries[at:min(at+partSize, len(entries))]
		items, err := w.part(ctx, n, part)
		if err != nil {
			return Summary{}, err
		}
		for _, i := range items {
			if err := w.put(i); err != nil {
				return Summary{}, err
			}
		}
		if progress != nil {
			progress(at+len(part), len(entries))
		}
	}
	head, err := w.store.Head(ctx)
	if err != nil {
		return Summary{}, fmt.Errorf("bulk: %w", err)
	}
	w.summary.Head = head
	return w.finish()
}

// put draws one tag, or says in the report why there is none.
func (w *work) put(i item) error {
	if i.why != "" {
		return w.leave(i)
	}
	place, err := w.outs[i.entry.Stock].Add(i.drawing)
	if err != nil {
		return err
	}
	w.summary.Printed++
	return w.report.printed(i.entry, i.drawn.Tag, place)
}

func (w *work) leave(i item) error {
	w.summary.Left = append(w.summary.Left, Left{Ident: i.entry.Ident, Why: i.note()})
	return w.report.left(i)
}

// finish puts everything on the disk, then gives the files their names, and then
// marks the run as done.
func (w *work) finish() (Summary, error) {
	var outs []*print.Output
	for _, stock := range w.order {
		out := w.outs[stock]
		if out.Empty() { // all of its slings were left out
			delete(w.outs, stock)
			if err := out.Drop(); err != nil {
				return Summary{}, err
			}
			continue
		}
		if err := out.Finish(); err != nil {
			return Summary{}, err
		}
		outs = append(outs, out)
	}
	steps := []func() error{w.report.End}
	for _, out := range outs {
		steps = append(steps, out.Keep)
	}
	steps = append(steps, w.report.Keep, func() error { return draft.SyncDir(w.dir) }, func() error { return closeDir(w.dir) })
	for _, do := range steps {
		if err := w.mark("finish"); err != nil {
			return Summary{}, err
		}
		if err := do(); err != nil {
			return Summary{}, err
		}
	}
	for _, out := range outs {
		r := out.Result()
		w.summary.Files = append(w.summary.Files, r.Files...)
		if r.Raster.Dots > 0 {
			w.summary.Rasters = append(w.summary.Rasters, r.Raster)
		}
	}
	w.summary.Report = filepath.Join(w.dir, reportFile)
	return w.summary, nil
}

// mark is called before each step that outlasts the process.
func (w *work) mark(what string) error {
	if w.step == nil {
		return nil
	}
	return w.step(what)
}
