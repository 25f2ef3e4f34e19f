package scan

import "context"

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
