package scan

import (
	"context"
	"errors"
	"image"
)

// ReadGrids reads a picture like [Reader.Locate]. Where a symbol was found and cannot
// be read, the error is [DamagedSymbol] and the grids are as for [Reader.Lay]; where
// it was read, its own grid is the only one.
func (r *Reader) ReadGrids(ctx context.Context, data []byte) (Sighting, []Grid, error) {
	done, err := r.wait(ctx)
	if err != nil {
		return Sighting{}, nil, err
	}
	defer done()
	p, err := plain(data)
	if err != nil {
		return Sighting{}, nil, err
	}
	return lay(ctx, p)
}

// plain is decode where its decoder panics as well.
func plain(data []byte) (p plane, err error) {
	defer func() {
		if recover() != nil {
			p, err = plane{}, DamagedImage
		}
	}()
	return decode(data)
}

// GlanceGrids is [Glance], which also gives the grids that were laid where the symbol
// could not be read.
func GlanceGrids(frame *image.Gray, turn int) (Sighting, []Grid, error) {
	s, err := Glance(frame, turn)
	if !errors.Is(err, DamagedSymbol) {
		return s, nil, err
	}
	_, grids, _ := lay(context.Background(), brightness(frame))
	return s, grids, err
}
