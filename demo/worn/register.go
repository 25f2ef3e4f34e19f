package worn

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"sync"
	"time"

	"cribgate/core/tagcode"
	"cribgate/kiosk/resemble"
	"cribgate/kiosk/scan"
	"cribgate/labeler/symbol"
)

// A rack is the live tags of an invented register, as plain data: what each says, and
// how it was drawn.
type rack struct {
	index resemble.Index
	texts map[resemble.Digest]string
}

// Where the numbers of slings begin that no scene shows: live ones, and those of
// another crib.
const (
	firstLive  = 100_000
	firstOther = 500_000
)

// ByRegister is a reader that knows n live tags, those of the scenes and the further
// ones that are given among them: what it cannot read it compares with them. It also
// compares with n tags that nothing shows; where one of those comes out, that is a
// wrong text.
func (m *Maker) ByRegister(ctx context.Context, n int, further []string) (Reader, error) {
	live := slices.Clone(further)
	for i := range Shown {
		tag, err := m.tag(i)
		if err != nil {
			return Reader{}, fmt.Errorf("worn: make a tag: %w", err)
		}
		if text := tag.Sealed.Text(); !slices.Contains(live, text) {
			live = append(live, text)
		}
	}
	if n < len(live) {
		return Reader{}, fmt.Errorf("worn: a register of %d tags has no room for the %d that are shown", n, len(live))
	}
	here, err := m.rack(ctx, live, firstLive, n)
	if err != nil {
		return Reader{}, err
	}
	other, err := m.rack(ctx, nil, firstOther, n)
	if err != nil {
		return Reader{}, err
	}
	reader := scan.NewReader(1)
	return Reader{Name: "kiosk, register", Ours: true, Read: func(ctx context.Context, f Frame) ([]string, time.Duration, error) {
		begun := processor()
		s, laid, err := reader.Lay(ctx, f.Brightness)
		if err == nil {
			return []string{s.Text()}, processor() - begun, nil
		}
		if _, unread := errors.AsType[scan.Problem](err); !unread {
			return nil, 0, fmt.Errorf("worn: lay a grid: %w", err)
		}
		grids := make([]resemble.Grid, len(laid))
		for i, g := range laid {
			grids[i] = g
		}
		var texts []string
		if match, ok := here.index.Find(grids); ok {
			texts = append(texts, here.texts[match.ID])
		}
		took := processor() - begun
		if match, ok := other.index.Find(grids); ok {
			texts = append(texts, other.texts[match.ID])
		}
		return texts, took, nil
	}}, nil
}

// rack holds those tags, and further ones of slings with the numbers from first on:
// of three, two without a prefix, as in the scenes.
func (m *Maker) rack(ctx context.Context, live []string, first, n int) (*rack, error) {
	bare := (n - len(live)) * 2 / 3
	for before, count := range map[string]int{"": bare, prefix: n - len(live) - bare} {
		more, err := tags(m.key, before, first+len(before)*n, count, 1)
		if err != nil {
			return nil, fmt.Errorf("worn: make tags: %w", err)
		}
		for _, t := range more {
			live = append(live, t.Sealed.Text())
		}
	}
	r := &rack{texts: map[resemble.Digest]string{}}
	for _, text := range live {
		r.texts[resemble.Digest(tagcode.Digest(text))] = text
	}
	workers := runtime.GOMAXPROCS(0)
	errs := make([]error, workers)
	var work sync.WaitGroup
	for w := range workers {
		work.Go(func() {
			for i := w; i < len(live) && errs[w] == nil; i += workers {
				if errs[w] = ctx.Err(); errs[w] == nil {
					errs[w] = r.put(live[i])
				}
			}
		})
	}
	work.Wait()
	if err := errors.Join(errs...); err != nil {
		return nil, fmt.Errorf("worn: draw tags: %w", err)
	}
	return r, nil
}

func (r *rack) put(text string) error {
	s, err := symbol.Encode(text)
	if err != nil {
		return err
	}
	return r.index.Put(resemble.Digest(tagcode.Digest(text)), text, symbol.Version, s.Level(), s.Mask())
}
