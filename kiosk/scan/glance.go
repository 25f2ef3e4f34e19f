package scan

import (
	"bytes"
	"context"
	"errors"
	"image"
	"image/jpeg"

	"github.com/makiuchi-d/gozxing"
)

// Glance looks at one frame of a live picture. It takes two looks and not the many
// of [Image], since the next frame shows the same in a moment: the likeliest, and one
// of the others by turn, which the caller counts up from frame to frame. The grid of
// the Sighting is not fitted. The error is [NoSymbol], [DamagedSymbol],
// [EmptySymbol] or [DamagedImage], and the Sighting then zero.
func Glance(frame *image.Gray, turn int) (s Sighting, err error) {
	defer func() {
		if recover() != nil {
			s, err = Sighting{}, DamagedImage
		}
	}()
	full := brightness(frame)
	if min(full.width, full.height) < least {
		return Sighting{}, NoSymbol
	}
	problem := NoSymbol
	for i := range 2 {
		t, binarize := full.glance(i * (1 + turn%otherLooks))
		seen, err := look(context.Background(), t.plane, binarize)
		switch {
		case err == nil && seen.text == "":
			return Sighting{}, EmptySymbol
		case err == nil:
			return seen.in(full, t), nil
		case errors.Is(err, DamagedSymbol):
			problem = DamagedSymbol
		}
	}
	return Sighting{}, problem
}

// otherLooks is how many looks take turns behind the likeliest.
const otherLooks = 4

// glance is the look of a number: 0 is the likeliest.
func (p plane) glance(number int) (try, func(gozxing.LuminanceSource) gozxing.Binarizer) {
	switch whole := (try{plane: p, shrink: 1}); {
	case number == 1 && min(p.width, p.height) >= 2*least:
		return try{plane: p.half(), shrink: 2}, gozxing.NewHybridBinarizer
	case number == 2:
		return whole, gozxing.NewGlobalHistgramBinarizer
	case number == 3:
		return try{plane: p.turned(), shrink: 1, turned: true}, gozxing.NewHybridBinarizer
	case number == 4:
		return try{plane: p.inverted(), shrink: 1, inverted: true}, gozxing.NewHybridBinarizer
	default:
		return whole, gozxing.NewHybridBinarizer
	}
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
	if int64(c.Width)*int64(c.Height) > MaxPixels {
		return nil, TooManyPixels
	}
	decoded, err := decodeJPEG(data)
	if err != nil {
		return nil, DamagedImage
	}
	p := brightness(decoded)
	return &image.Gray{Pix: p.pix, Stride: p.width, Rect: image.Rect(0, 0, p.width, p.height)}, nil
}
