package luminance

// size is how many coefficients, and pixels, a block has: eight rows of eight.
const size = 64

// A block is the coefficients of 8 by 8 pixels, row by row.
type block [size]int32

// The inverse transform is that of C. Loeffler, A. Ligtenberg and G. Moschytz,
// Practical fast 1-D DCT algorithms with 11 multiplications, ICASSP 1989, in whole
// numbers. It takes the very steps of image/jpeg of Go 1.26, since the pixels must be the same to
// the bit (copyright The Go Authors, under the licence in LICENSE-go beside this file);
// what is left out are rows and columns in which all but the first is 0.

// Constants of the transform, by how many bits behind the point.
const (
	cos1of12, sin1of12               = 4017, 799 // of π/16
	cos3of12, sin3of12               = 3406, 2276
	halfCos6of12, halfSin6of12       = 1108, 2676 // of 6π/16, over √2
	halfCos6of18, halfSin6of18       = 70936, 171254
	half8, half14              int32 = 181, 11585 // 1/√2
)

// turned turns and stretches a pair of numbers.
func turned(a, b, cos, sin int32) (x, y int32) {
	both := cos * (a + b)
	return both + (sin-cos)*b, both - (cos+sin)*a
}

// draw turns coefficients into pixels, eight to a row of dst. rows are those with any
// coefficient but the first of all.
func (b *block) draw(rows uint8, dst []byte, stride int) {
	if rows == 0 {
		shade := clamped((b[0]<<17 + 1<<19) >> 20)
		for y := range 8 {
			row := dst[y*stride:][:8:8]
			for x := range row {
				row[x] = shade
			}
		}
		return
	}
	for y := range 8 {
		if y == 0 || rows>>y&1 != 0 {
			b.row(y)
		}
	}
	b.columns((*[8]byte)(dst), (*[8]byte)(dst[stride:]), (*[8]byte)(dst[2*stride:]), (*[8]byte)(dst[3*stride:]),
		(*[8]byte)(dst[4*stride:]), (*[8]byte)(dst[5*stride:]), (*[8]byte)(dst[6*stride:]), (*[8]byte)(dst[7*stride:]))
}

// row transforms a row in its place.
func (b *block) row(y int) {
	x := (*[8]int32)(b[8*y:])
	x0, x7, x2, x5, x1, x6, x3, x4 := x[0], x[1], x[2], x[3], x[4], x[5], x[6], x[7]
	if x1|x2|x3|x4|x5|x6|x7 == 0 {
		x0 <<= 17
		*x = [8]int32{x0, x0, x0, x0, x0, x0, x0, x0}
		return
	}
	x0 <<= 17
	x1 <<= 17
	x0, x1 = x0+x1, x0-x1
	x2, x3 = turned(x2, x3, halfCos6of18, -halfSin6of18)
	x1, x2 = x1+x2, x1-x2
	x0, x3 = x0+x3, x0-x3

	x4 <<= 7
	x7 <<= 7
	x7, x4 = x7+x4, x7-x4
	x6 *= half8
	x5 *= half8
	x7, x5 = x7+x5, x7-x5
	x4, x6 = x4+x6, x4-x6
	x4, x7 = turned(x4>>2, x7>>2, cos3of12, -sin3of12)
	x5, x6 = turned(x5>>2, x6>>2, cos1of12, -sin1of12)

	*x = [8]int32{x0 + x7, x1 + x6, x2 + x5, x3 + x4, x3 - x4, x2 - x5, x1 - x6, x0 - x7}
}

// columns transforms the columns into pixels.
func (b *block) columns(r0, r1, r2, r3, r4, r5, r6, r7 *[8]byte) {
	for i := range 8 {
		x0, x7, x2, x5 := b[i]+1<<19, b[8+i], b[16+i], b[24+i]
		x1, x6, x3, x4 := b[32+i], b[40+i], b[48+i], b[56+i]

		x0, x1 = (x0+x1)>>2, (x0-x1)>>2
		x2, x3 = turned(x2>>13, x3>>13, halfCos6of12, -halfSin6of12)
		x1, x2 = x1+x2, x1-x2
		x0, x3 = x0+x3, x0-x3

		x7, x4 = x7+x4, x7-x4
		x5 = (x5 >> 13) * half14
		x6 = (x6 >> 13) * half14
		x7, x5 = x7+x5, x7-x5
		x4, x6 = x4+x6, x4-x6
		x4, x7 = turned(x4>>14, x7>>14, cos3of12, -sin3of12)
		x5, x6 = turned(x5>>14, x6>>14, cos1of12, -sin1of12)

		r0[i], r7[i] = clamped((x0+x7)>>18), clamped((x0-x7)>>18)
		r1[i], r6[i] = clamped((x1+x6)>>18), clamped((x1-x6)>>18)
		r2[i], r5[i] = clamped((x2+x5)>>18), clamped((x2-x5)>>18)
		r3[i], r4[i] = clamped((x3+x4)>>18), clamped((x3-x4)>>18)
	}
}

// clamped is a pixel of a brightness about 0.
func clamped(v int32) byte { return byte(min(max(v+128, 0), 255)) }
