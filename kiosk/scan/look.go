package scan

import (
	"context"
	"errors"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode/decoder"
	"github.com/makiuchi-d/gozxing/qrcode/detector"
)

// crowd is the most corners of symbols, or what looks like them, that one look goes
// through. The library tries every three of them, so that thousands would take
// hours; pictures of one symbol that read show fewer than ten.
const crowd = 200

// crowded ends a look, from inside the library, at a picture with too many corners.
type crowded struct{}

// A seen is what one look found: the text, and where the library put the grid.
type seen struct {
	text     string
	modules  int
	mirrored bool
	// The middles of the finders and, where it was found, of the last alignment
	// pattern, as they are named in the upright symbol.
	topLeft, topRight, bottomLeft, alignment point
	aligned                                  bool
}

// look takes one look at one plane.
func look(ctx context.Context, p plane, binarize func(gozxing.LuminanceSource) gozxing.Binarizer) (s seen, err error) {
	source, err := gozxing.NewPlanarYUVLuminanceSource(p.pix, p.width, p.height, 0, 0, p.width, p.height, false)
	if err != nil {
		return seen{}, NoSymbol
	}
	bitmap, err := gozxing.NewBinaryBitmap(binarize(source))
	if err != nil {
		return seen{}, NoSymbol
	}
	defer func() {
		switch r := recover().(type) {
		case nil:
		case crowded:
			s, err = seen{}, NoSymbol
		default:
			panic(r)
		}
	}()
	corners := 0
	hints := map[gozxing.DecodeHintType]any{
		gozxing.DecodeHintType_TRY_HARDER: true,
		gozxing.DecodeHintType_NEED_RESULT_POINT_CALLBACK: gozxing.ResultPointCallback(func(gozxing.ResultPoint) {
			if corners++; corners > crowd || ctx.Err() != nil {
				panic(crowded{})
			}
		}),
	}
	matrix, err := bitmap.GetBlackMatrix()
	if err != nil {
		return seen{}, problemOf(err)
	}
	detected, err := detector.NewDetector(matrix).Detect(hints)
	if err != nil {
		return seen{}, problemOf(err)
	}
	decoded, err := decoder.NewDecoder().Decode(detected.GetBits(), hints)
	if err != nil {
		return seen{}, problemOf(err)
	}
	s = seen{text: decoded.GetText(), modules: detected.GetBits().GetWidth()}
	points := detected.GetPoints()
	if mark, ok := decoded.GetOther().(*decoder.QRCodeDecoderMetaData); ok && mark.IsMirrored() {
		s.mirrored = true
		mark.ApplyMirroredCorrection(points)
	}
	s.bottomLeft, s.topLeft, s.topRight = pointOf(points[0]), pointOf(points[1]), pointOf(points[2])
	if len(points) > 3 {
		s.alignment, s.aligned = pointOf(points[3]), true
	}
	return s, nil
}

func pointOf(p gozxing.ResultPoint) point { return point{p.GetX(), p.GetY()} }

// problemOf sorts the library's errors.
func problemOf(err error) Problem {
	if _, absent := errors.AsType[gozxing.NotFoundException](err); absent {
		return NoSymbol
	}
	return DamagedSymbol
}
