package web

import (
	"fmt"
	"math"

	"cribgate/core/returncheck"
)

// Pictures show how a part should be, and beside it how it should not. They are drawn
// by hand to no scale; the words beside them say what they show, so that they are
// silent for those who cannot see them.
type Pictures struct{ Good, Bad Drawing }

// The sheet of a picture, and the middle of it.
const (
	sheetWide, sheetHigh = 112, 92
	mid                  = sheetWide / 2.0
)

// picturesOf draws a question.
func picturesOf(word string) Pictures {
	draw := pictures[word]
	p := Pictures{Good: Drawing{Wide: sheetWide, High: sheetHigh}, Bad: Drawing{Wide: sheetWide, High: sheetHigh}}
	if draw != nil {
		draw(&p.Good, false)
		draw(&p.Bad, true)
	}
	return p
}

// pictures draw each question, good or bad.
var pictures = map[string]func(d *Drawing, bad bool){
	returncheck.RatingTag:    drawPlate,
	returncheck.Legs:         drawTwoLegs,
	returncheck.Chain:        drawChain,
	returncheck.HookLatch:    func(d *Drawing, bad bool) { drawHook(d, bad, true) },
	returncheck.HookLock:     drawLockingHook,
	returncheck.HookOpen:     func(d *Drawing, bad bool) { drawHook(d, bad, false) },
	returncheck.Shackle:      drawShackle,
	returncheck.EndLink:      drawEndLink,
	returncheck.Couplers:     drawCoupler,
	returncheck.Adjusters:    drawAdjuster,
	returncheck.ForeignParts: drawForeign,
	returncheck.HeatMarks:    drawHeat,
	returncheck.EdgeMarks:    drawNotch,
	returncheck.Mishap:       drawMishap,
	returncheck.EdgeOrChoke:  drawEdge,
	returncheck.EdgeUnstated: drawEdge,
	returncheck.TightChoke:   drawTightChoke,
}

// link is a link of chain seen from its face, so wide, so high and tilted to the right.
func (d *Drawing) link(at spot, wide, high, degrees float64) {
	r, half := wide/2, (high-wide)/2
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	corner := func(side, end float64) spot {
		return spot{at.x + side*r*cos - end*half*sin, at.y + side*r*sin + end*half*cos}
	}
	a, b, c, e := corner(-1, -1), corner(-1, 1), corner(1, 1), corner(1, -1)
	d.path("metal", "M%.1f %.1fL%.1f %.1fA%.1f %.1f 0 0 0 %.1f %.1fL%.1f %.1fA%.1f %.1f 0 0 0 %.1f %.1fZ",
		a.x, a.y, b.x, b.y, r, r, c.x, c.y, e.x, e.y, r, r, a.x, a.y)
}

// chain hangs n links one below the other, seen from the face and from the side in
// turn, and gives where the next would begin.
func (d *Drawing) chain(at spot, n int, pitch float64) spot {
	for i := range n {
		middle := spot{at.x, at.y + pitch/2}
		if i%2 == 0 {
			d.link(middle, 13, pitch+7, 0)
		} else {
			d.line("metal", spot{at.x, at.y - 1}, spot{at.x, at.y + pitch + 1})
		}
		at.y += pitch
	}
	return at
}

// fault rings what is wrong.
func (d *Drawing) fault(at spot, r float64) { d.circle("fault", at, r) }

func drawPlate(d *Drawing, bad bool) {
	d.circle("metal", spot{mid, 14}, 8)
	if !bad {
		d.path("metal", "M30 22H82V82H30Z")
		for i, wide := range []float64{36, 26, 36, 18, 30} {
			d.line("mark", spot{38, 38 + 9*float64(i)}, spot{38 + wide, 38 + 9*float64(i)})
		}
		return
	}
	d.path("metal", "M30 22H82V62L70 70L66 82H30Z")
	d.path("mark", "M38 38h9M53 38h5M38 47h4M46 56l18 -14M40 66l20 6M44 74l10 -12")
	d.fault(spot{76, 74}, 13)
}

func drawTwoLegs(d *Drawing, bad bool) {
	d.circle("metal", spot{mid, 12}, 8)
	d.path("metal", "M51 19L42 26M61 19L70 26")
	d.chain(spot{42, 27}, 3, 18)
	if !bad {
		d.chain(spot{70, 27}, 3, 18)
		d.line("dash", spot{26, 87}, spot{86, 87})
		return
	}
	d.path("metal", "M70 26V31")
	d.chain(spot{70, 30}, 3, 18.6)
	d.line("dash", spot{22, 83}, spot{56, 83})
	d.line("dash", spot{56, 90}, spot{92, 90})
	d.fault(spot{70, 80}, 11)
}

func drawChain(d *Drawing, bad bool) {
	if !bad {
		d.chain(spot{mid, 7}, 5, 15.5)
		return
	}
	d.chain(spot{48, 7}, 2, 15)
	d.link(spot{54, 45}, 14, 26, -34)
	d.chain(spot{61, 53}, 2, 16)
	d.path("mark", "M44 42l-7 -3M48 50l-7 2")
	d.fault(spot{54, 45}, 19)
}

// The hook opens to the left; at is its bearing point.
func drawHook(d *Drawing, bad, latch bool) {
	d.circle("metal", spot{62, 13}, 8)
	tip := spot{39, 45}
	if bad {
		tip = spot{25, 56}
		d.path("metal", "M62 21C62 36 78 40 78 57A22 22 0 0 1 35 70L%.1f %.1f", tip.x, tip.y)
		d.path("dash", "M35 70Q32 56 39 45")
		d.fault(spot{29, 52}, 14)
	} else {
		d.path("metal", "M62 21C62 36 80 40 80 58A21 21 0 0 1 38 62Q36 54 %.1f %.1f", tip.x, tip.y)
	}
	switch {
	case latch && bad:
		d.line("thin", spot{63, 32}, spot{44, 38})
	case latch:
		d.line("thin", spot{63, 32}, tip)
	}
}

func drawLockingHook(d *Drawing, bad bool) {
	d.circle("metal", spot{mid, 13}, 8)
	d.path("metal", "M56 21V34C74 38 80 46 80 58A24 24 0 0 1 32 58")
	if bad {
		d.path("metal", "M56 30L34 38L22 34")
		d.fault(spot{28, 46}, 14)
		return
	}
	d.path("metal", "M56 30L38 42L32 58")
	d.line("thin", spot{64, 40}, spot{70, 34})
}

func drawShackle(d *Drawing, bad bool) {
	if !bad {
		d.path("metal", "M38 22V50A18 18 0 0 0 74 50V22")
		d.line("metal", spot{28, 22}, spot{84, 22})
		d.line("thin", spot{28, 15}, spot{28, 29})
		return
	}
	d.path("metal", "M30 22L36 52A20 20 0 0 0 76 52L86 22")
	d.path("metal", "M22 20Q56 36 92 20")
	d.line("thin", spot{22, 13}, spot{22, 27})
	d.fault(spot{mid, 27}, 13)
}

func drawEndLink(d *Drawing, bad bool) {
	if !bad {
		d.link(spot{mid, 46}, 40, 72, 0)
		return
	}
	d.path("metal", "M38 18C38 4 74 4 74 18C74 34 64 34 64 48C64 60 72 62 70 74C68 90 44 90 42 74C40 62 48 60 48 48C48 34 38 34 38 18Z")
	d.fault(spot{mid, 48}, 17)
}

func drawCoupler(d *Drawing, bad bool) {
	d.chain(spot{mid, 7}, 1, 12)
	d.path("metal", "M44 44V32A12 12 0 0 1 68 32V44")
	if bad {
		d.path("metal", "M40 52L36 62A12 12 0 0 0 58 72L64 60")
		d.line("thin", spot{34, 52}, spot{70, 44})
		d.fault(spot{52, 50}, 19)
		return
	}
	d.path("metal", "M44 52V62A12 12 0 0 0 68 62V52")
	d.line("thin", spot{38, 48}, spot{74, 48})
	d.chain(spot{mid, 71}, 1, 13)
}

func drawAdjuster(d *Drawing, bad bool) {
	d.chain(spot{40, 7}, 1, 12)
	d.line("metal", spot{40, 20}, spot{40, 44})
	if bad {
		d.path("metal", "M40 44C40 64 76 64 88 44")
		d.fault(spot{84, 46}, 14)
	} else {
		d.path("metal", "M40 44C40 66 70 66 70 44")
		d.line("thin", spot{34, 38}, spot{76, 38})
	}
	d.link(spot{55, 46}, 11, 20, 0)
	d.chain(spot{55, 58}, 2, 14)
}

func drawForeign(d *Drawing, bad bool) {
	d.chain(spot{mid, 7}, 1, 18)
	d.chain(spot{mid, 61}, 1, 20)
	if !bad {
		d.link(spot{mid, 43}, 16, 44, 0)
		return
	}
	d.path("metal", "M50 26V60M62 26V60")
	d.path("thin", "M36 43H82")
	d.path("mark", "M34 35h8v16h-8ZM74 37h8v12h-8Z")
	d.fault(spot{mid, 43}, 25)
}

func drawHeat(d *Drawing, bad bool) {
	d.link(spot{mid, 46}, 34, 76, 0)
	if !bad {
		return
	}
	for i := range 3 {
		y := 30 + 12*float64(i)
		d.path("fault", "M26 %.1fq5 -6 10 0t10 0t10 0t10 0t10 0t10 0", y)
	}
	for _, at := range []spot{{38, 70}, {72, 66}, {45, 18}, {73, 26}} {
		d.circle("dot", at, 2.6)
	}
}

func drawNotch(d *Drawing, bad bool) {
	if !bad {
		d.link(spot{mid, 46}, 38, 76, 0)
		return
	}
	d.path("metal", "M37 27A19 19 0 0 1 75 27V40L66 46L75 52V65A19 19 0 0 1 37 65V54Q44 46 37 38Z")
	d.fault(spot{70, 46}, 14)
}

func drawMishap(d *Drawing, bad bool) {
	hook := spot{mid, 10}
	if !bad {
		d.line("metal", hook, spot{30, 54})
		d.line("metal", hook, spot{82, 54})
		d.box("load", spot{24, 54}, spot{88, 80})
		d.circle("hook", hook, 5)
		return
	}
	d.line("metal", hook, spot{78, 42})
	d.path("metal", "M56 10Q40 30 46 46L36 50")
	d.path("load", "M26 60L78 42L86 68L34 86Z")
	d.star("fault", spot{30, 42}, 15, 7)
	d.circle("hook", hook, 5)
}

// star is a burst of eight rays.
func (d *Drawing) star(class string, at spot, far, near float64) {
	text := ""
	for i := range 16 {
		r, to := far, "L"
		if i%2 == 1 {
			r = near
		}
		if i == 0 {
			to = "M"
		}
		sin, cos := math.Sincos(float64(i) * math.Pi / 8)
		text += fmt.Sprintf("%s%.1f %.1f", to, at.x+r*cos, at.y+r*sin)
	}
	d.path(class, "%s", text+"Z")
}

func drawEdge(d *Drawing, bad bool) {
	if !bad {
		drawMishap(d, false)
		return
	}
	d.box("load", spot{36, 44}, spot{104, 84})
	d.path("metal", "M78 4L36 44L30 88")
	d.fault(spot{36, 44}, 13)
}

func drawTightChoke(d *Drawing, bad bool) {
	if !bad {
		drawMishap(d, false)
		return
	}
	d.circle("load", spot{mid, 58}, 22)
	d.circle("metal", spot{mid, 58}, 26)
	d.line("metal", spot{mid + 14, 4}, spot{mid + 14, 36})
	d.fault(spot{mid + 14, 36}, 12)
}
