package scan

import "context"

// ReadGrids is [Reader.Read], which also says where the symbol lies, not fitted, and
// where it could not be read gives the grids that were laid, as [Reader.Lay] does.
func (r *Reader) ReadGrids(ctx context.Context, data []byte) (s Sighting, grids []Grid, err error) {
	done, err := r.wait(ctx)
	if err != nil {
		return Sighting{}, nil, err
	}
	defer done()
	defer func() {
		if recover() != nil {
			s, grids, err = Sighting{}, nil, DamagedImage
		}
	}()
	p, err := decode(data)
	if err != nil {
		return Sighting{}, nil, err
	}
	return findSent(ctx, p)
}
