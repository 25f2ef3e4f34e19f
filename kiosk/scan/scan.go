package scan

import (
	"context"
	"errors"
	"fmt"
	"image"

	"github.com/makiuchi-d/gozxing"
)

// Image returns the text of the QR symbol in a picture: PNG, JPEG, GIF (its first
// frame) or WebP. The symbol may lie at any angle, be seen in a mirror, or be light
// on dark. The error is always a [Problem].
func Image(data []byte) (string, error) {
	s, err := see(context.Background(), data, false)
	return s.text, err
}

// Locate reads a picture like [Image], and finds where in it each module lies. The
// error is always a [Problem], and the Sighting then zero.
func Locate(data []byte) (Sighting, error) { return see(context.Background(), data, true) }

// A Reader reads pictures like [Image] and [Locate], a bounded number of them at a
// time. It is safe for concurrent use.
type Reader struct{ slots chan struct{} }

// NewReader returns a Reader that decodes at most parallel pictures at a time, at
// least one.
func NewReader(parallel int) *Reader {
	return &Reader{slots: make(chan struct{}, max(parallel, 1))}
}

// Read is [Image] once it is this picture's turn. The error is a [Problem], or
// that of ctx if its end came first.
func (r *Reader) Read(ctx context.Context, data []byte) (string, error) {
	s, err := r.turn(ctx, data, false)
	return s.text, err
}

// Locate is [Locate] once it is this picture's turn. The error is as for Read.
func (r *Reader) Locate(ctx context.Context, data []byte) (Sighting, error) {
	return r.turn(ctx, data, true)
}

func (r *Reader) turn(ctx context.Context, data []byte, fit bool) (Sighting, error) {
	done, err := r.wait(ctx)
	if err != nil {
		return Sighting{}, err
	}
	defer done()
	return see(ctx, data, fit)
}

// Show gives what [Picture] reads to use, once it is this picture's turn, which lasts
// until use is done. The error is that of use, else as for Read.
func (r *Reader) Show(ctx context.Context, data []byte, use func(image.Image) error) error {
	done, err := r.wait(ctx)
	if err != nil {
		return err
	}
	defer done()
	m, err := picture(data)
	if err != nil {
		return err
	}
	return use(m)
}

// picture is Picture where its decoder panics as well.
func picture(data []byte) (m image.Image, err error) {
	defer func() {
		if recover() != nil {
			m, err = nil, DamagedImage
		}
	}()
	return Picture(data)
}

func (r *Reader) wait(ctx context.Context) (done func(), err error) {
	select {
	case r.slots <- struct{}{}:
		return func() { <-r.slots }, nil
	case <-ctx.Done():
		return nil, fmt.Errorf("scan: wait for a turn: %w", ctx.Err())
	}
}

// see reads a picture and, where asked, fits the grid to it.
func see(ctx context.Context, data []byte, fit bool) (s Sighting, err error) {
	defer func() {
		if recover() != nil {
			s, err = Sighting{}, DamagedImage
		}
	}()
	p, err := decode(data)
	if err != nil {
		return Sighting{}, err
	}
	s, err = find(ctx, p)
	if err == nil && fit {
		s.fit()
	}
	return s, err
}

const (
	// enough is how many pixels show a tag that fills a good part of a picture;
	// larger pictures are looked at in this size first.
	enough = 3_000_000
	// least is the shortest side, in pixels, at which a symbol of 21 modules with
	// its margin can be told from noise.
	least = 58
)

// A try is one size, turn and light to look at a picture in.
type try struct {
	plane
	shrink           float64 // pixels of the picture to one of this plane, along a side
	turned, inverted bool
}

// back takes a place in the plane to the picture.
func (t try) back(x, y float64) (float64, float64) {
	if t.turned {
		x, y = y, float64(t.width)-x
	}
	return x * t.shrink, y * t.shrink
}

// find looks for a symbol in one size and light after another, the likeliest
// first: the first size that is not too large, the next smaller, where noise and
// the ragged edges of a matrix of dots are averaged away, then the larger ones,
// where a small symbol in a large picture still has pixels enough; then a quarter
// turn, since the library's finders miss one clean symbol in some thousand along
// one axis and not along the other; last, light on dark.
func find(ctx context.Context, full plane) (Sighting, error) {
	sizes := []try{{plane: full, shrink: 1}}
	first := 0
	for p := sizes[0]; ; {
		if p = (try{plane: p.half(), shrink: 2 * p.shrink}); min(p.width, p.height) < least {
			break
		}
		sizes = append(sizes, p)
		if len(sizes[first].pix) > enough {
			first++
		}
		if first < len(sizes)-1 {
			break
		}
	}
	tries := []try{sizes[first]}
	if first+1 < len(sizes) {
		tries = append(tries, sizes[first+1])
	}
	for i := first - 1; i >= 0; i-- {
		tries = append(tries, sizes[i])
	}
	s := sizes[first]
	tries = append(tries, try{plane: s.plane.turned(), shrink: s.shrink, turned: true},
		try{plane: s.plane.inverted(), shrink: s.shrink, inverted: true})

	worst := NoSymbol
	for _, t := range tries {
		for _, binarize := range [...]func(gozxing.LuminanceSource) gozxing.Binarizer{
			gozxing.NewHybridBinarizer, gozxing.NewGlobalHistgramBinarizer,
		} {
			if err := ctx.Err(); err != nil {
				return Sighting{}, fmt.Errorf("scan: %w", err)
			}
			seen, err := look(ctx, t.plane, binarize)
			if err == nil && seen.text == "" {
				return Sighting{}, EmptySymbol
			}
			if err == nil {
				return seen.in(full, t), nil
			}
			if errors.Is(err, DamagedSymbol) {
				worst = DamagedSymbol
			}
		}
	}
	return Sighting{}, worst
}
