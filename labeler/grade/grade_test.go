package grade_test

import (
	"bytes"
	"image"
	"image/png"
	"testing"

	"cribgate/kiosk/scan"
	"cribgate/labeler/grade"
	"cribgate/labeler/symbol"
)

const body = "CDEFGHIJKLMNOPQRSTUVWXYZ234567ABCDEFGHIJKLMNOPQRSTUVWXYZ234567AB"

func TestSmoke(t *testing.T) {
	s, err := symbol.Encode(body)
	if err != nil {
		t.Fatal(err)
	}
	for _, scale := range []int{3, 4, 5, 8, 12} {
		n := (symbol.Modules + 8) * scale
		m := image.NewGray(image.Rect(0, 0, n, n))
		for y := range n {
			for x := range n {
				if !s.Dark(x/scale-4, y/scale-4) {
					m.Pix[y*m.Stride+x] = 255
				}
			}
		}
		var b bytes.Buffer
		if err := png.Encode(&b, m); err != nil {
			t.Fatal(err)
		}
		v, err := scan.Locate(b.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		r := grade.Print(v, s)
		t.Log(scale, r.Overall(), r.Confirms(), r.Sentence())
		for _, f := range r.Faults {
			t.Log(f.Sentence())
		}
		for _, l := range r.Lines {
			t.Log(l.Parameter, l.Grade, l.Value, l.Measured, l.Missing)
		}
		t.Log(r.Advice)
	}
}
