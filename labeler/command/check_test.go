package command_test

import (
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"os"
	"strconv"

	"github.com/rogpeppe/go-internal/testscript"

	"cribgate/kiosk/scan"
)

// paint IN OUT SHADE X0 Y0 X1 Y1 copies a picture of a tag and paints a rectangle
// over it, in modules from the corner of the symbol.
func paint(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 7 {
		ts.Fatalf("usage: paint in out shade x0 y0 x1 y1")
	}
	var v [5]float64
	for i := range v {
		var err error
		v[i], err = strconv.ParseFloat(args[2+i], 64)
		ts.Check(err)
	}
	data, err := os.ReadFile(ts.MkAbs(args[0]))
	ts.Check(err)
	s, err := scan.Locate(data)
	ts.Check(err)
	in, err := os.Open(ts.MkAbs(args[0]))
	ts.Check(err)
	m, err := png.Decode(in)
	ts.Check(err)
	ts.Check(in.Close())
	out := image.NewGray(m.Bounds())
	draw.Draw(out, out.Bounds(), m, m.Bounds().Min, draw.Src)
	x0, y0 := s.At(v[1], v[2])
	x1, y1 := s.At(v[3], v[4])
	draw.Draw(out, image.Rect(int(x0+0.5), int(y0+0.5), int(x1+0.5), int(y1+0.5)), image.NewUniform(color.Gray{Y: byte(v[0])}), image.Point{}, draw.Src)
	file, err := os.Create(ts.MkAbs(args[1]))
	ts.Check(err)
	ts.Check(png.Encode(file, out))
	ts.Check(file.Close())
}
