package scan

import (
	"context"
	"errors"
	"fmt"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
)

// Image returns the text of the QR symbol in a picture: PNG, JPEG, GIF (its first
// frame) or WebP. The symbol may lie at any angle, be seen in a mirror, or be light
// on dark. The error is always a [Problem].
func Image(data []byte) (string, error) { return read(context.Background(), data) }

// A Reader reads pictures like [Image], a bounded number of them at a time. It is
// safe for concurrent use.
type Reader struct{ slots chan struct{} }

// NewReader returns a Reader that decodes at most parallel pictures at a time, at
// least one.
func NewReader(parallel int) *Reader {
	return &Reader{slots: make(chan struct{}, max(parallel, 1))}
}

// Read is [Image] once it is this picture's turn. The error is a [Problem], or
// that of ctx if its end came first.
func (r *Reader) Read(ctx context.Context, data []byte) (string, error) {
	select {
	case r.slots <- struct{}{}:
	case <-ctx.Done():
		return "", fmt.Errorf("scan: wait for a turn: %w", ctx.Err())
	}
	defer func() { <-r.slots }()
	return read(ctx, data)
}

func read(ctx context.Context, data []byte) (text string, err error) {
	defer func() {
		if recover() != nil {
			text, err = "", DamagedImage
		}
	}()
	p, err := decode(data)
	if err != nil {
		return "", err
	}
	return find(ctx, p)
}

const (
	// enough is how many pixels show a tag that fills a good part of a picture;
	// larger pictures are looked at in this size first.
	enough = 3_000_000
	// least is the shortest side, in pixels, at which a symbol of 21 modules with
	// its margin can be told from noise.
	least = 58
)

// find looks for a symbol in one size and light after another, the likeliest
// first: the first size that is not too large, the next smaller, where noise and
// the ragged edges of a matrix of dots are averaged away, then the larger ones,
// where a small symbol in a large picture still has pixels enough; then a quarter
// turn, since the library's finders miss one clean symbol in some thousand along
// one axis and not along the other; last, light on dark.
func find(ctx context.Context, full plane) (string, error) {
	sizes := []plane{full}
	first := 0
	for p := full; ; {
		if p = p.half(); min(p.width, p.height) < least {
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
	tries := []plane{sizes[first]}
	if first+1 < len(sizes) {
		tries = append(tries, sizes[first+1])
	}
	for i := first - 1; i >= 0; i-- {
		tries = append(tries, sizes[i])
	}
	tries = append(tries, sizes[first].turned(), sizes[first].inverted())

	worst := NoSymbol
	for _, p := range tries {
		for _, binarize := range [...]func(gozxing.LuminanceSource) gozxing.Binarizer{
			gozxing.NewHybridBinarizer, gozxing.NewGlobalHistgramBinarizer,
		} {
			if err := ctx.Err(); err != nil {
				return "", fmt.Errorf("scan: %w", err)
			}
			text, err := look(ctx, p, binarize)
			if err == nil && text == "" {
				return "", EmptySymbol
			}
			if err == nil {
				return text, nil
			}
			if errors.Is(err, DamagedSymbol) {
				worst = DamagedSymbol
			}
		}
	}
	return "", worst
}

// crowd is the most corners of symbols, or what looks like them, that one look goes
// through. The library tries every three of them, so that thousands would take
// hours; pictures of one symbol that read show fewer than ten.
const crowd = 200

// crowded ends a look, from inside the library, at a picture with too many corners.
type crowded struct{}

// look takes one look at one plane.
func look(ctx context.Context, p plane, binarize func(gozxing.LuminanceSource) gozxing.Binarizer) (text string, err error) {
	source, err := gozxing.NewPlanarYUVLuminanceSource(p.pix, p.width, p.height, 0, 0, p.width, p.height, false)
	if err != nil {
		return "", NoSymbol
	}
	bitmap, err := gozxing.NewBinaryBitmap(binarize(source))
	if err != nil {
		return "", NoSymbol
	}
	defer func() {
		switch r := recover().(type) {
		case nil:
		case crowded:
			text, err = "", NoSymbol
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
	result, err := qrcode.NewQRCodeReader().Decode(bitmap, hints)
	if err == nil {
		return result.GetText(), nil
	}
	if _, absent := errors.AsType[gozxing.NotFoundException](err); absent {
		return "", NoSymbol
	}
	return "", DamagedSymbol
}
