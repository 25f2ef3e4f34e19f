package scan

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"image/gif"
	"image/jpeg"
	"image/png"

	"golang.org/x/image/webp"

	"cribgate/kiosk/scan/luminance"
)

// Limits of a picture (site policy, no source): the newest telephones take 12 to
// 50 million pixels, of which a tag needs one.
const (
	MaxBytes  = 20 << 20
	MaxPixels = 40_000_000

	maxMemory = 4 * MaxPixels // bytes of the decoded picture
	maxScans  = 64            // of a progressive JPEG; cameras write about ten
)

// A format is one kind of picture that can be read.
type format struct {
	magic  func(data []byte) bool
	config func(data []byte) (image.Config, error)
	decode func(data []byte) (image.Image, error)
	light  func(data []byte) (*image.Gray, bool) // its brightness alone, where that is quicker; nil: never
}

// formatOf finds the format of data by how it begins. The standard library's
// register is not asked, since whatever a program happens to import adds to it.
func formatOf(data []byte) (format, bool) {
	for _, f := range [...]format{
		{begins("\x89PNG\r\n\x1a\n"),
			func(b []byte) (image.Config, error) { return png.DecodeConfig(bytes.NewReader(b)) },
			func(b []byte) (image.Image, error) { return png.Decode(bytes.NewReader(b)) }, nil},
		{begins("\xff\xd8\xff"),
			func(b []byte) (image.Config, error) { return jpeg.DecodeConfig(bytes.NewReader(b)) },
			decodeJPEG, lightOf},
		{begins("GIF8"),
			func(b []byte) (image.Config, error) { return gif.DecodeConfig(bytes.NewReader(b)) },
			func(b []byte) (image.Image, error) { return gif.Decode(bytes.NewReader(b)) }, nil}, // the first frame
		{func(b []byte) bool { return len(b) >= 12 && string(b[:4]) == "RIFF" && string(b[8:12]) == "WEBP" },
			func(b []byte) (image.Config, error) { return webp.DecodeConfig(bytes.NewReader(b)) },
			func(b []byte) (image.Image, error) { return webp.Decode(bytes.NewReader(b)) }, nil},
	} {
		if f.magic(data) {
			return f, true
		}
	}
	return format{}, false
}

func begins(magic string) func([]byte) bool {
	return func(b []byte) bool { return bytes.HasPrefix(b, []byte(magic)) }
}

var errScans = errors.New("scan: too many scans in a JPEG")

// decodeJPEG refuses a file that asks for the same pixels to be gone over very
// many times: each scan of a few bytes costs a pass over the whole picture.
func decodeJPEG(data []byte) (image.Image, error) {
	if bytes.Count(data, []byte{0xff, 0xda}) > maxScans {
		return nil, errScans
	}
	return jpeg.Decode(bytes.NewReader(data))
}

// lightOf is the brightness of a JPEG of the usual kind; false where image/jpeg is to
// be asked.
func lightOf(data []byte) (*image.Gray, bool) { return luminance.Decode(data, MaxPixels) }

// Picture decodes a picture that somebody sent, or says with a [Problem] what is
// wrong with it. Its size is looked at before anything is decoded.
func Picture(data []byte) (image.Image, error) {
	f, err := fitting(data)
	if err != nil {
		return nil, err
	}
	m, err := f.decode(data)
	if err != nil {
		return nil, DamagedImage
	}
	return m, nil
}

// fitting finds the format of a picture that is not too large to be decoded.
func fitting(data []byte) (format, error) {
	if len(data) > MaxBytes {
		return format{}, TooManyBytes
	}
	f, ok := formatOf(data)
	if !ok {
		return format{}, NotAnImage
	}
	c, err := f.config(data)
	if err != nil || c.Width <= 0 || c.Height <= 0 {
		return format{}, DamagedImage
	}
	if pixels := int64(c.Width) * int64(c.Height); pixels > MaxPixels || pixels*bytesPerPixel(c.ColorModel) > maxMemory {
		return format{}, TooManyPixels
	}
	return f, nil
}

// decode reads the picture's brightness, or says what is wrong with it.
func decode(data []byte) (plane, error) {
	f, err := fitting(data)
	if err != nil {
		return plane{}, err
	}
	if f.light != nil {
		if m, ok := f.light(data); ok {
			return brightness(m), nil
		}
	}
	m, err := f.decode(data)
	if err != nil {
		return plane{}, DamagedImage
	}
	return brightness(m), nil
}

func bytesPerPixel(m color.Model) int64 {
	switch m {
	case color.RGBA64Model, color.NRGBA64Model:
		return 8
	}
	return 4
}
