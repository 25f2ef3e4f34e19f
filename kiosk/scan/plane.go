package scan

import (
	"image"
	"image/color"
)

// A plane is the brightness of a picture, row by row, 0 black. It is never changed
// once made.
type plane struct {
	width, height int
	pix           []byte // width × height
}

// brightness takes the brightness out of a picture. The common kinds are read as
// they lie in memory: going through image.Image.At costs thirty times as much.
// What is transparent counts as white. Where the picture's memory holds the brightness
// and nothing else, it is that same memory.
func brightness(m image.Image) plane {
	b := m.Bounds()
	switch m := m.(type) {
	case *image.YCbCr:
		if m.YStride == b.Dx() && len(m.Y) == b.Dx()*b.Dy() {
			return plane{width: b.Dx(), height: b.Dy(), pix: m.Y}
		}
	case *image.Gray:
		if m.Stride == b.Dx() && len(m.Pix) == b.Dx()*b.Dy() {
			return plane{width: b.Dx(), height: b.Dy(), pix: m.Pix}
		}
	}
	p := plane{width: b.Dx(), height: b.Dy(), pix: make([]byte, b.Dx()*b.Dy())}
	switch m := m.(type) {
	case *image.YCbCr:
		p.copyRows(m.Y, m.YStride)
	case *image.Gray:
		p.copyRows(m.Pix, m.Stride)
	case *image.RGBA:
		p.fromQuads(m.Pix, m.Stride, func(q []byte) byte { return luma(q[0], q[1], q[2], q[3], 255) })
	case *image.NRGBA:
		p.fromQuads(m.Pix, m.Stride, func(q []byte) byte { return luma(q[0], q[1], q[2], q[3], q[3]) })
	case *image.Paletted:
		var shades [256]byte
		for i, c := range m.Palette {
			shades[i] = lumaOf(c)
		}
		p.copyRows(m.Pix, m.Stride)
		for i, index := range p.pix {
			p.pix[i] = shades[index]
		}
	default:
		for y := range p.height {
			for x := range p.width {
				p.pix[y*p.width+x] = lumaOf(m.At(b.Min.X+x, b.Min.Y+y))
			}
		}
	}
	return p
}

func (p plane) copyRows(pix []byte, stride int) {
	for y := range p.height {
		copy(p.pix[y*p.width:(y+1)*p.width], pix[y*stride:])
	}
}

func (p plane) fromQuads(pix []byte, stride int, shade func(quad []byte) byte) {
	for y := range p.height {
		row := pix[y*stride:]
		out := p.pix[y*p.width : (y+1)*p.width]
		for x := range out {
			out[x] = shade(row[4*x : 4*x+4 : 4*x+4])
		}
	}
}

// luma is the brightness of a colour over white, by the weights of ITU-R BT.601
// (from memory, not seen; a threshold follows, so they matter little). weight is
// how much the colour still has to be multiplied by its cover, 255 for not at all.
func luma(r, g, b, cover, weight byte) byte {
	shade := (299*uint32(r) + 587*uint32(g) + 114*uint32(b)) / 1000
	return byte(min(shade*uint32(weight)/255+255-uint32(cover), 255))
}

func lumaOf(c color.Color) byte {
	q := color.NRGBAModel.Convert(c).(color.NRGBA)
	return luma(q.R, q.G, q.B, q.A, q.A)
}
