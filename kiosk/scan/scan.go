package scan

import (
	"context"
	"fmt"
	"image"
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
	if s, _, err = findSent(ctx, p); err == nil && fit {
		s.fit()
	}
	return s, err
}

// least is the shortest side, in pixels, at which a symbol of 21 modules with its
// margin can be told from noise.
const least = 58
