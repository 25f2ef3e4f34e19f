package camera

import (
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"io"

	"cribgate/kiosk/scan"
)

// Limits of a frame (site policy, no source): at 1,024 pixels along the long side a
// tag of 45 modules with its margin still has four pixels to a module where it
// fills a sixth of the picture.
const (
	MaxSide = 1024    // pixels
	maxJPEG = 512_000 // bytes; a camera's frame of that size has some 100,000

	format  = 1
	headLen = 14
	maxSent = headLen + MaxSide*MaxSide
)

// A Kind says how a frame's pixels are written.
type Kind byte

// The kinds.
const (
	Grey Kind = 1 // one byte to a pixel, row by row, 0 black: no loss, for a browser on the same machine
	JPEG Kind = 2
)

// ErrFrame reports bytes that are no frame.
var ErrFrame = errors.New("camera: not a frame")

// A Frame is one picture as it was sent. The zero value is none.
type Frame struct {
	Number        uint32 // the page's own count
	Kind          Kind
	Width, Height int
	pixels        []byte
}

// ReadFrame reads a frame up to the end of r: one byte each for the format (1) and the
// kind, then, most significant byte first, the number (4 bytes), width and height (2
// each), how many bytes follow (4), and these. It fails with [ErrFrame], or as r does,
// and sets nothing aside before the sizes were found to fit.
func ReadFrame(r io.Reader) (Frame, error) {
	var head [headLen]byte
	if _, err := io.ReadFull(r, head[:]); err != nil {
		return Frame{}, cut(err)
	}
	f := Frame{
		Number: binary.BigEndian.Uint32(head[2:]), Kind: Kind(head[1]),
		Width: int(binary.BigEndian.Uint16(head[6:])), Height: int(binary.BigEndian.Uint16(head[8:])),
	}
	n := binary.BigEndian.Uint32(head[10:])
	switch {
	case head[0] != format:
		return Frame{}, fmt.Errorf("%w: format %d", ErrFrame, head[0])
	case f.Width < 1 || f.Height < 1 || f.Width > MaxSide || f.Height > MaxSide:
		return Frame{}, fmt.Errorf("%w: %d × %d pixels", ErrFrame, f.Width, f.Height)
	case f.Kind == Grey && n != uint32(f.Width*f.Height):
		return Frame{}, fmt.Errorf("%w: %d bytes for %d × %d pixels", ErrFrame, n, f.Width, f.Height)
	case f.Kind == JPEG && (n == 0 || n > maxJPEG):
		return Frame{}, fmt.Errorf("%w: a JPEG of %d bytes", ErrFrame, n)
	case f.Kind != Grey && f.Kind != JPEG:
		return Frame{}, fmt.Errorf("%w: kind %d", ErrFrame, f.Kind)
	}
	f.pixels = make([]byte, n)
	if _, err := io.ReadFull(r, f.pixels); err != nil {
		return Frame{}, cut(err)
	}
	if more, err := r.Read(head[:1]); more > 0 || err == nil {
		return Frame{}, fmt.Errorf("%w: more than it says", ErrFrame)
	} else if !errors.Is(err, io.EOF) {
		return Frame{}, fmt.Errorf("camera: read a frame: %w", err)
	}
	return f, nil
}

// cut sorts a frame that ends too soon from a line that broke.
func cut(err error) error {
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return fmt.Errorf("%w: cut short", ErrFrame)
	}
	return fmt.Errorf("camera: read a frame: %w", err)
}

// Picture is what the frame shows. A JPEG that is not what its frame says is an
// error of package scan.
func (f Frame) Picture() (*image.Gray, error) {
	if f.Kind == JPEG {
		return scan.Grey(f.pixels, f.Width, f.Height)
	}
	return &image.Gray{Pix: f.pixels, Stride: f.Width, Rect: image.Rect(0, 0, f.Width, f.Height)}, nil
}
