package print

import (
	"context"
	"fmt"
	"runtime"

	"cribgate/labeler/sheet"
)

// An item is what a job lays out: a tag, a badge or a slip. Drawn is of a tag.
type item interface {
	Title() string
	draw(Job) (Drawn, sheet.Drawing, error)
}

// laid is an item that was laid out, or why it was not.
type laid struct {
	drawn   Drawn
	drawing sheet.Drawing
	err     error
}

// drawAll lays items out, as many at a time as there are processors, and
// hands them on in their order. A few are ahead of the one that is handed on and
// no more, however many there are.
func drawAll[T item](ctx context.Context, j Job, items []T, do func(Drawn, sheet.Drawing) error) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	// A place in the queue is taken before its item is begun, so that the queue's
	// length bounds what is under way.
	queue := make(chan chan laid, 2*runtime.GOMAXPROCS(0))
	go func() {
		defer close(queue)
		for _, it := range items {
			place := make(chan laid, 1)
			select {
			case queue <- place:
			case <-ctx.Done():
				return
			}
			go func() {
				var l laid
				l.drawn, l.drawing, l.err = it.draw(j)
				place <- l
			}()
		}
	}()
	for place := range queue {
		l := <-place
		if err := ctx.Err(); err != nil {
			return fmt.Errorf("print: %s: %w", j.Out, err)
		}
		if l.err != nil {
			return l.err
		}
		if err := do(l.drawn, l.drawing); err != nil {
			return err
		}
	}
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("print: %s: %w", j.Out, err)
	}
	return nil
}
