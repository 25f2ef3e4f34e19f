package bulk

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"runtime"
	"strconv"
	"sync"

	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/labeler/print"
	"cribgate/labeler/sheet"
	"cribgate/store"
)

// An item is what has become of an entry.
type item struct {
	entry    Entry
	recorded bool // the register has the tag
	drawn    print.Drawn
	drawing  sheet.Drawing
	why      string // it is left out; empty where it is printed
}

// note says why the item is left out, and what stays behind of it.
func (i item) note() string {
	if i.recorded {
		return i.why + "; the register has the tag, which lapses there"
	}
	return i.why
}

// part sees to it that the register has the tags of one part of the plan, and
// gives them ready to be drawn.
func (w *work) part(ctx context.Context, n int, entries []Entry) ([]item, error) {
	if w.again {
		items, err := w.known(ctx, n, entries)
		if !errors.Is(err, errNew) {
			return items, err
		}
	}
	items := make([]item, len(entries))
	if err := w.each(items, func(i int) error { return w.make(ctx, entries[i], &items[i]) }); err != nil {
		return nil, err
	}
	for _, i := range items {
		if i.why != "" {
			continue
		}
		job, err := w.job(i.entry.Stock)
		if err != nil {
			return nil, err
		}
		if err := w.prove(i.entry.Stock, job, i.drawing); err != nil {
			return nil, err
		}
	}
	if err := w.mark("record"); err != nil {
		return nil, err
	}
	asked := false
	answer, err := w.do(ctx, n, entries, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		asked = true
		return record(ctx, tx, items)
	})
	if err != nil {
		return nil, err
	}
	if err := w.mark("recorded"); err != nil {
		return nil, err
	}
	if !asked { // another process goes on with this run too, and was quicker
		return w.redraw(ctx, entries, answer)
	}
	return items, leaveOut(items, answer)
}

// tries is how often an act is asked for whose outcome is not known.
const tries = 5

// do does the act of one part. Its key follows from the run, so that it is done
// once.
func (w *work) do(ctx context.Context, n int, entries []Entry, f func(context.Context, *store.Tx) ([]byte, error)) ([]byte, error) {
	digest := sha256.New()
	for _, e := range entries {
		line, err := e.line()
		if err != nil {
			return nil, fmt.Errorf("bulk: %w", err)
		}
		digest.Write(append(line, '\n'))
	}
	act := store.Act{
		Station: "labeler", Way: "program",
		Key:     "bulk " + w.plan.Run + " " + strconv.Itoa(n),
		Request: [32]byte(digest.Sum(nil)),
	}
	for try := 1; ; try++ {
		answer, err := w.store.Do(ctx, act, f)
		if errors.Is(err, store.ErrUnknownOutcome) && try < tries {
			continue
		}
		if err != nil && !errors.Is(err, errNew) {
			err = fmt.Errorf("bulk: record the tags: %w", err)
		}
		return answer, err
	}
}

// errNew says that the register does not know a part yet.
var errNew = errors.New("bulk: a part that is not recorded yet")

// known gives a part that an earlier process recorded, else errNew.
func (w *work) known(ctx context.Context, n int, entries []Entry) ([]item, error) {
	answer, err := w.do(ctx, n, entries, func(context.Context, *store.Tx) ([]byte, error) { return nil, errNew })
	if err != nil {
		return nil, err
	}
	return w.redraw(ctx, entries, answer)
}

// make makes and lays out the next tag of a sling.
func (w *work) make(ctx context.Context, e Entry, i *item) error {
	i.entry = e
	if w.stale != "" {
		i.why = w.stale
		return nil
	}
	s, err := w.store.SlingByIdent(ctx, e.Ident)
	if errors.Is(err, store.ErrDoubled) {
		i.why = store.ErrDoubled.Error()
		return nil
	}
	if err != nil {
		return fmt.Errorf("bulk: %w", err)
	}
	tag, err := print.Next(s, w.key, w.plan.Prefix)
	switch {
	case err != nil:
		i.why = why(s, err)
		return nil
	case tag.Sealed.Serial != e.Serial:
		i.why = taken(e.Serial)
		return nil
	}
	return w.draw(tag, i)
}

func taken(s tagcode.Serial) string {
	return fmt.Sprintf("serial %d was taken meanwhile, so that its tag is another's", s)
}

// draw lays a tag out.
func (w *work) draw(tag print.Tag, i *item) error {
	job, err := w.job(i.entry.Stock)
	if err != nil {
		return err
	}
	if i.drawn, i.drawing, err = job.Draw(tag); err != nil {
		i.why = why(state.Sling{}, err)
	}
	return nil
}

// record records the tags of a part, and leaves out those whose slings have
// changed since they were made.
func record(ctx context.Context, tx *store.Tx, items []item) ([]byte, error) {
	left := map[int]string{}
	for n, i := range items {
		if i.why != "" {
			left[n] = i.why
			continue
		}
		err := print.Record(ctx, tx, []print.Drawn{i.drawn})
		switch {
		case errors.Is(err, print.ErrChanged), errors.Is(err, store.ErrContradicts):
			left[n] = "its record has changed while the run went on"
		case err != nil:
			return nil, err
		}
	}
	return spellAnswer(left, len(items))
}

// redraw makes the tags of a part once more that the register recorded before.
func (w *work) redraw(ctx context.Context, entries []Entry, answer []byte) ([]item, error) {
	items := make([]item, len(entries))
	for i, e := range entries {
		items[i].entry = e
	}
	if err := leaveOut(items, answer); err != nil {
		return nil, err
	}
	return items, w.each(items, func(i int) error {
		if items[i].why != "" {
			return nil
		}
		return w.redo(ctx, &items[i])
	})
}

// redo draws one recorded tag once more, as long as it is still true.
func (w *work) redo(ctx context.Context, i *item) error {
	s, err := w.store.SlingByIdent(ctx, i.entry.Ident)
	if errors.Is(err, store.ErrDoubled) {
		i.why = store.ErrDoubled.Error()
		return nil
	}
	if err != nil {
		return fmt.Errorf("bulk: %w", err)
	}
	var printed state.Tag
	for _, t := range s.Tags {
		if t.Serial == i.entry.Serial {
			printed = t
		}
	}
	switch {
	case gone(s):
		i.why = why(s, print.ErrGone)
	case s.Doubt != 0:
		i.why = why(s, print.ErrDoubt)
	case printed.Status != state.TagPrinted && printed.Status != state.TagLive:
		i.why = "the tag is not good any more"
	default:
		tag, err := print.Again(s, printed, w.keys, w.plan.Prefix)
		if errors.Is(err, print.ErrChanged) {
			i.why = "its record has changed since the tag was recorded"
			return nil
		}
		if err != nil {
			return err
		}
		return w.draw(tag, i)
	}
	return nil
}

// each does something for every item, as many at a time as there are processors.
func (w *work) each(items []item, do func(i int) error) error {
	errs := make([]error, len(items))
	var all sync.WaitGroup
	for worker := range runtime.GOMAXPROCS(0) {
		all.Go(func() {
			for i := worker; i < len(items); i += runtime.GOMAXPROCS(0) {
				errs[i] = do(i)
			}
		})
	}
	all.Wait()
	return errors.Join(errs...)
}
