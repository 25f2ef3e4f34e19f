package camera

import (
	"bytes"
	"encoding/binary"
	"errors"
	"image"
	"image/jpeg"
	"testing"
	"time"

	"cribgate/core/bounded"
	"cribgate/kiosk/scan"
)

// sent is a frame as a page sends it.
func sent(kind Kind, width, height int, pixels []byte) []byte {
	out := []byte{format, byte(kind)}
	out = binary.BigEndian.AppendUint32(out, 7)
	out = binary.BigEndian.AppendUint16(out, uint16(width))
	out = binary.BigEndian.AppendUint16(out, uint16(height))
	out = binary.BigEndian.AppendUint32(out, uint32(len(pixels)))
	return append(out, pixels...)
}

func jpegOf(t testing.TB, width, height int) []byte {
	t.Helper()
	return encoded(t, image.NewGray(image.Rect(0, 0, width, height)))
}

func encoded(t testing.TB, m image.Image) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := jpeg.Encode(&out, m, nil); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func with(frame []byte, at int, b ...byte) []byte {
	out := bytes.Clone(frame)
	copy(out[at:], b)
	return out
}

// badFrames are refused, each for one reason.
func badFrames(t testing.TB) map[string][]byte {
	whole := sent(Grey, 4, 3, make([]byte, 12))
	return map[string][]byte{
		"nothing":                   {},
		"a head cut short":          whole[:headLen-1],
		"pixels cut short":          whole[:len(whole)-1],
		"a byte too many":           append(bytes.Clone(whole), 0),
		"another format":            with(whole, 0, 2),
		"another kind":              with(whole, 1, 9),
		"no kind":                   with(whole, 1, 0),
		"no width":                  with(whole, 6, 0, 0),
		"no height":                 with(whole, 8, 0, 0),
		"too wide":                  sent(Grey, MaxSide+1, 1, make([]byte, MaxSide+1)),
		"too high":                  sent(Grey, 1, MaxSide+1, make([]byte, MaxSide+1)),
		"fewer pixels than it says": with(whole, 9, 4),
		"4 GB":                      with(whole, 10, 0xff, 0xff, 0xff, 0xff),
		"a JPEG of no bytes":        sent(JPEG, 4, 3, nil),
		"a JPEG that is too large":  sent(JPEG, 4, 3, make([]byte, maxJPEG+1)),
	}
}

func TestFramesThatAreNone(t *testing.T) {
	for name, data := range badFrames(t) {
		f, err := ReadFrame(bytes.NewReader(data))
		if !errors.Is(err, ErrFrame) || f.Kind != 0 || f.pixels != nil {
			t.Errorf("%s: %+v, %v", name, f, err)
		}
	}
}

// TestAFrameAtItsLimits: the largest frames are read, and a line that breaks is not a
// frame that is none.
func TestAFrameAtItsLimits(t *testing.T) {
	largest := sent(Grey, MaxSide, MaxSide, make([]byte, MaxSide*MaxSide))
	if f, err := ReadFrame(bytes.NewReader(largest)); err != nil || f.Number != 7 || len(largest) != maxSent {
		t.Errorf("the largest frame of %d bytes: %v", len(largest), err)
	}
	if _, err := ReadFrame(bytes.NewReader(sent(JPEG, 4, 3, make([]byte, maxJPEG)))); err != nil {
		t.Errorf("the largest JPEG: %v", err)
	}
	broken := errors.New("broken")
	if _, err := ReadFrame(&brokenReader{broken}); !errors.Is(err, broken) || errors.Is(err, ErrFrame) {
		t.Errorf("a line that breaks: %v", err)
	}
}

type brokenReader struct{ err error }

func (r *brokenReader) Read([]byte) (int, error) { return 0, r.err }

// TestAJPEGMustBeWhatItsFrameSays: the dimensions are compared before it is decoded.
func TestAJPEGMustBeWhatItsFrameSays(t *testing.T) {
	picture := jpegOf(t, 64, 48)
	for _, row := range []struct {
		width, height int
		data          []byte
		want          error
	}{
		{64, 48, picture, nil},
		{64, 49, picture, scan.DamagedImage},
		{63, 48, picture, scan.DamagedImage},
		{64, 48, picture[:len(picture)/2], scan.DamagedImage},
		{64, 48, []byte("not a picture"), scan.NotAnImage},
	} {
		f, err := ReadFrame(bytes.NewReader(sent(JPEG, row.width, row.height, row.data)))
		if err != nil {
			t.Fatal(err)
		}
		m, err := f.Picture()
		if !errors.Is(err, row.want) || (err == nil) != (m != nil) {
			t.Errorf("%d × %d of %d bytes: %v, want %v", row.width, row.height, len(row.data), err, row.want)
		}
	}
}

// Whatever a page sends as a frame is read or refused in a second and in bounded
// memory; what is read has the size that it says, and reading it is no fault either.
func FuzzFrame(f *testing.F) {
	seeds := [][]byte{
		sent(Grey, 4, 3, make([]byte, 12)), sent(JPEG, 64, 48, jpegOf(f, 64, 48)),
		sent(Grey, 200, 150, bytes.Repeat([]byte{0, 0, 0, 255, 255, 255}, 5000)),
	}
	for _, bad := range badFrames(f) {
		if len(bad) < 4096 {
			seeds = append(seeds, bad)
		}
	}
	if len(seeds) != 17 {
		f.Fatalf("%d seeds, want 17", len(seeds))
	}
	for _, s := range seeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		bounded.Run(t, time.Now, 64<<20, func() {
			frame, err := ReadFrame(bytes.NewReader(data))
			if err != nil {
				if frame.Kind != 0 || !errors.Is(err, ErrFrame) {
					t.Errorf("%+v with %v", frame, err)
				}
				return
			}
			m, err := frame.Picture()
			if err != nil {
				return
			}
			if m.Rect.Dx() != frame.Width || m.Rect.Dy() != frame.Height || frame.Width > MaxSide || frame.Height > MaxSide {
				t.Errorf("%d × %d pixels of a frame of %d × %d", m.Rect.Dx(), m.Rect.Dy(), frame.Width, frame.Height)
			}
			s, err := scan.Glance(m, int(frame.Number))
			if (err == nil) != (s.Text() != "") {
				t.Errorf("read %q with %v", s.Text(), err)
			}
			var a adviser
			if said := a.see(m, err); said.Words() == "" {
				t.Errorf("advice %d has no words", said)
			}
		})
	})
}
