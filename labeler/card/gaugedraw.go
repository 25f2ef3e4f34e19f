package card

import (
	"fmt"

	"cribgate/core/quantity"
	"cribgate/labeler/sheet"
	"cribgate/printtemplates"
)

// Places on a go/no-go card.
const (
	gaugeMargin = 8 * mm
	gaugeLeft   = 10 * mm
	runLeft     = 16 * mm // the start of the run
	lineWidth   = 300 * quantity.Micrometre
	barWidth    = 1 * mm
	cutWidth    = 200 * quantity.Micrometre
	combTop     = 37 * mm
	handle      = 15 * mm
	standRight  = 9 * mm // of the upright bar, from the right edge
	standTop    = 37 * mm
	runRight    = 14 * mm // what the run leaves free on the right
	runText     = 34 * mm // what it needs below, for its words and the cautions
)

// A plan says where on the page the true figures lie.
type plan struct {
	bars  []sheet.Rect // to be measured before use, lengthways and upright
	slots []sheet.Rect // the black, as wide as the least thickness
	comb  sheet.Rect   // the piece that is cut out
	start sheet.Rect   // its right edge is where the run begins
	lines []sheet.Rect // their left edges are the limits
	lane  sheet.Rect   // from the start to the nominal length
}

// plan places the true figures.
func (g Gauge) plan() plan {
	var p plan
	across := func(y, long quantity.Length) {
		p.bars = append(p.bars, box(gaugeLeft, y, gaugeLeft+long, y+barWidth))
	}
	right := g.Paper.Width - standRight - barWidth
	across(21*mm, check)
	p.bars = append(p.bars, box(right, standTop, right+barWidth, standTop+check))
	if g.inches() {
		across(28*mm, fourInches)
	}

	// A tooth goes through the eye of a link beside its neighbour; the slot is
	// deeper than the link is thick.
	d := g.Size.Nominal()
	tooth, deep := max(d*8/10, 4*mm), d*12/10+mm
	x := quantity.Length(gaugeLeft)
	for _, s := range g.Slots {
		x += tooth
		p.slots = append(p.slots, box(x, combTop, x+s.Least, combTop+deep))
		x += s.Least
	}
	p.comb = box(gaugeLeft, combTop, x+tooth, combTop+deep+handle)

	top := max(p.comb.Max.Y+5*mm, 78*mm) + quantity.Length(len(g.Lines))*labelStep
	bottom := top + 2*d
	p.lane = box(runLeft, top, runLeft+g.Nominal, bottom)
	p.start = box(runLeft-3*mm, top, runLeft, bottom)
	for i, l := range g.Lines {
		p.lines = append(p.lines, box(runLeft+l.Most, top-labelStep*quantity.Length(i+1), runLeft+l.Most+lineWidth, bottom))
	}
	return p
}

const (
	labelStep  = 4500 * quantity.Micrometre
	fourInches = 4 * quantity.Inch
)

// Draw lays the card out on its paper. It fails with ErrNoRoom where that is not
// high enough.
func (g Gauge) Draw() (sheet.Drawing, error) {
	p := g.plan()
	if need := p.lane.Max.Y + runText + gaugeMargin; need > g.Paper.Height {
		return sheet.Drawing{}, fmt.Errorf("card: %w: for %s chain it needs %s in height and %s has %s",
			ErrNoRoom, g.Size.Words(), need, g.Paper.Name, g.Paper.Height)
	}
	title := fmt.Sprintf("Go/no-go card, %s chain, grade %d", g.Size.Words(), g.Grade)
	b := sheet.NewBuilder(title, g.Paper.Width, g.Paper.Height, gaugeMargin)
	d := gaugeDrawing{b, g, p, g.Paper.Width - runRight}
	d.head(title)
	d.comb()
	d.run()
	drawing, err := b.Drawing()
	if err != nil {
		return sheet.Drawing{}, fmt.Errorf("card: draw for %s on %s: %w", g.Size.Words(), g.Paper.Name, err)
	}
	return drawing, nil
}

type gaugeDrawing struct {
	*sheet.Builder
	g     Gauge
	p     plan
	right quantity.Length
}

func (d gaugeDrawing) paragraph(text string, bold bool, size quantity.Length, in sheet.Rect) quantity.Length {
	font := printtemplates.Regular
	if bold {
		font = printtemplates.Bold
	}
	return d.Paragraph(sheet.Paragraph{String: text, Font: font, Size: size, Smallest: smallest, Box: in})
}

// head is the title, the bars and what they are for.
func (d gaugeDrawing) head(title string) {
	d.Label(sheet.Label{String: title, Font: printtemplates.Bold, Size: 6 * mm, Smallest: 4 * mm, At: pt(gaugeLeft, 16*mm), Room: d.right - gaugeLeft - 70*mm})
	d.Label(sheet.Label{String: "Print at 100 %, no scaling", Font: printtemplates.Bold, Size: 4500, Smallest: 3 * mm, At: pt(d.right, 16*mm), Align: printtemplates.Right, Room: 66 * mm})
	for i, bar := range d.p.bars {
		d.Figure("check bar "+barName(i), bar, sheet.Rectangle(bar))
		at, align := pt(bar.Min.X, bar.Max.Y+3*mm), printtemplates.Left
		if i == 1 {
			at, align = pt(bar.Max.X, bar.Min.Y-700), printtemplates.Right
		}
		d.Label(sheet.Label{String: barName(i) + ": " + d.g.barLength(i), Size: 2600, Smallest: smallest, At: at, Align: align, Room: 60 * mm})
	}
	d.paragraph(d.g.voidWords(len(d.p.bars)), true, 3600, box(gaugeLeft+fourInches+6*mm, 20*mm, d.right, 34*mm))
}

// comb is the piece with the slots, and how it is used.
func (d gaugeDrawing) comb() {
	c := d.p.comb
	edge := c.Min.X
	for i, slot := range d.p.slots {
		d.Figure(fmt.Sprintf("slot %d", i+1), slot, sheet.Rectangle(slot))
		d.Rule(box(edge, c.Min.Y, slot.Min.X, c.Min.Y+cutWidth))
		edge = slot.Max.X
		middle := (slot.Min.X + slot.Max.X) / 2
		d.Label(sheet.Label{
			String: fmt.Sprint(i + 1), Font: printtemplates.Bold, Size: 4 * mm, Smallest: smallest,
			At: pt(middle, slot.Max.Y+5*mm), Align: printtemplates.Middle, Room: 8 * mm,
		})
		d.Label(sheet.Label{
			String: noBreak(d.g.Slots[i].Least.String()), Size: 2600, Smallest: smallest,
			At: pt(middle, slot.Max.Y+8500), Align: printtemplates.Middle, Room: slot.Max.X - slot.Min.X + 4*mm,
		})
	}
	d.Rule(box(edge, c.Min.Y, c.Max.X, c.Min.Y+cutWidth))
	d.Label(sheet.Label{
		String: d.g.Size.Words(), Font: printtemplates.Bold, Size: 3500, Smallest: smallest,
		At: pt((c.Min.X+c.Max.X)/2, c.Max.Y-1800), Align: printtemplates.Middle, Room: c.Max.X - c.Min.X - 2*mm,
	})
	for _, side := range []sheet.Rect{
		box(c.Min.X, c.Min.Y, c.Min.X+cutWidth, c.Max.Y), box(c.Max.X-cutWidth, c.Min.Y, c.Max.X, c.Max.Y),
		box(c.Min.X, c.Max.Y-cutWidth, c.Max.X, c.Max.Y),
	} {
		d.Rule(side)
	}
	left, right, y := c.Max.X+6*mm, d.right, quantity.Length(combTop)
	y += d.paragraph("Worn links", true, 4*mm, box(left, y, right, y+6*mm))
	d.paragraph(d.g.slotWords(), false, 3600, box(left, y, right, max(c.Max.Y, 76*mm)))
}

// run is the lane, and how it is used.
func (d gaugeDrawing) run() {
	p := d.p
	d.Figure("start of the run", p.start, sheet.Rectangle(p.start))
	for i, line := range p.lines {
		d.Figure(fmt.Sprintf("line %d", i+1), line, sheet.Rectangle(line))
		d.Label(sheet.Label{
			String: d.g.lineLabel(i), Font: printtemplates.Bold, Size: 3 * mm, Smallest: smallest,
			At: pt(line.Min.X-mm, line.Min.Y+3*mm), Align: printtemplates.Right, Room: 120 * mm,
		})
	}
	y := p.lines[len(p.lines)-1].Min.Y
	d.Label(sheet.Label{String: "Stretched run", Font: printtemplates.Bold, Size: 4 * mm, Smallest: smallest, At: pt(gaugeLeft, y+4*mm), Room: 60 * mm})
	middle := (p.lane.Min.Y + p.lane.Max.Y) / 2
	d.Label(sheet.Label{String: "START", Font: printtemplates.Bold, Size: 3 * mm, Smallest: smallest, At: pt(runLeft+2*mm, middle), Room: 20 * mm})
	d.Label(sheet.Label{
		String: fmt.Sprintf("%d links, pulled straight, no load", d.g.Links), Size: 3 * mm, Smallest: smallest,
		At: pt(p.lane.Max.X/2, middle), Room: p.lane.Max.X/2 - 4*mm,
	})
	d.Rule(box(p.lane.Max.X-lineWidth, p.lane.Max.Y+mm, p.lane.Max.X, p.lane.Max.Y+4*mm))
	d.Label(sheet.Label{
		String: "nominal " + millimetre(d.g.Nominal), Size: 2600, Smallest: smallest,
		At: pt(p.lane.Max.X-mm, p.lane.Max.Y+3500), Align: printtemplates.Right, Room: 60 * mm,
	})
	y = p.lane.Max.Y + 6*mm
	y += d.paragraph(d.g.runWords(), false, 3600, box(gaugeLeft, y, d.right, d.g.Paper.Height-gaugeMargin-9*mm)) + 500
	d.paragraph(d.g.cautions(), true, 3000, box(gaugeLeft, y, d.right, d.g.Paper.Height-gaugeMargin))
}
