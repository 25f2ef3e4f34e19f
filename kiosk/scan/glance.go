package scan

import (
	"bytes"
	"context"
	"image"
	"image/jpeg"
)

// Glance looks at one frame of a live picture, with less effort than [Image] spends,
// since the next frame shows the same in a moment: of two turns, which the caller counts
// up from frame to frame, it looks for light on dark as well in one, and closely for what
// is left of worn finders in the other. The grid of the
// Sighting is not fitted. The error is [NoSymbol], [DamagedSymbol], [EmptySymbol] or
// [DamagedImage], and the Sighting then zero. The frame must not change while the
// Sighting is used.
func Glance(frame *image.Gray, turn int) (Sighting, error) {
	s, _, err := GlanceGrids(frame, turn)
	return s, err
}

// GlanceGrids is [Glance], which also gives the grids that were laid where the symbol
// could not be read, as [Reader.Lay] does.
func GlanceGrids(frame *image.Gray, turn int) (s Sighting, grids []Grid, err error) {
	defer func() {
		if recover() != nil {
			s, grids, err = Sighting{}, nil, DamagedImage
		}
	}()
	full := brightness(frame)
	if min(full.width, full.height) < least {
		return Sighting{}, nil, NoSymbol
	}
	without := noClose
	if turn%2 != 0 {
		without = noLight
	}
	return find(context.Background(), full, frameEffort, without)
}

// Grey decodes a JPEG of exactly these dimensions, which are read before anything
// else of it. The error is a [Problem].
func Grey(data []byte, width, height int) (m *image.Gray, err error) {
	defer func() {
		if recover() != nil {
			m, err = nil, DamagedImage
		}
	}()
	if !begins("\xff\xd8\xff")(data) {
		return nil, NotAnImage
	}
	c, err := jpeg.DecodeConfig(bytes.NewReader(data))
	if err != nil || c.Width != width || c.Height != height {
		return nil, DamagedImage
	}
	p, err := decode(data)
	if err != nil {
		return nil, err
	}
	return &image.Gray{Pix: p.pix, Stride: p.width, Rect: image.Rect(0, 0, p.width, p.height)}, nil
}
