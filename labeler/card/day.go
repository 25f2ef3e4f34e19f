package card

import (
	"fmt"
	"strconv"

	"cribgate/core/quantity"
	"cribgate/core/tagcode"
	"cribgate/core/trade"
	"cribgate/labeler/sheet"
	"cribgate/printtemplates"
)

// A Day is a day sheet on paper: the lifts of a day, what is set aside for them, and
// then the rack place by place, for a day on which nobody can ask the program. Its texts
// are the caller's, in the crib's words; nothing is worked out here. The zero Day says
// that nothing is planned, on one page.
type Day struct {
	Words trade.List
	Title string
	Under string
	Lifts []DayLift
	Rack  []RackLine
	Foot  string       // where the register stood, in words
	Head  tagcode.Head // the same as a symbol on each page; zero: none is drawn
}

// A DayLift is one lift of a day.
type DayLift struct {
	Title string // what is lifted, and for whom
	Lift  string
	Kept  []string // a line for each sling that is set aside
	Notes []string // what is wanting, and what would serve
}

// A RackLine is one sling of the rack.
type RackLine struct {
	Place, Ident, Is, Rated, Due, Stands string
	Stays                                bool // it does not go out as it stands: in bold type
}

// dayCaution stands on every page of a day sheet.
const dayCaution = "Printed for a day on which the program cannot be asked; what happened since is not on it. Nothing goes out that is held, unchecked, overdue, or whose rating tag cannot be read; in doubt it stays here. " +
	"What is set aside is not yet allowed to go. This sheet supports, and never replaces, the competent person, the maker's instructions and the local law."

// rackShares are the columns of the rack, per cent of the width.
var rackShares = [6]quantity.Length{13, 16, 27, 22, 12, 10}

// Draw lays the day out on upright sheets, as many as it needs.
func (d Day) Draw(on Paper) ([]sheet.Drawing, error) {
	p := dayPage{Day: d, reportPage: reportPage{width: min(on.Width, on.Height), height: max(on.Width, on.Height)}}
	p.left, p.right = slipMargin, p.width-slipMargin
	blocks, err := p.blocks()
	if err != nil {
		return nil, fmt.Errorf("card: draw %s: %w", d.Title, err)
	}
	pages := p.paginate(blocks)
	list := make([]sheet.Drawing, len(pages))
	for n, page := range pages {
		if list[n], err = p.page(page, n+1, len(pages)); err != nil {
			return nil, fmt.Errorf("card: draw %s: %w", d.Title, err)
		}
	}
	return list, nil
}

// dayPage is a day and the paper it is drawn on, which is laid out as a report is.
type dayPage struct {
	Day
	reportPage
}

func (p dayPage) blocks() (list []block, err error) {
	add := func(keep bool, draw func(b *sheet.Builder, y quantity.Length) quantity.Length) {
		height, failed := p.measure(draw)
		if err == nil {
			err = failed
		}
		list = append(list, block{height: height + reportGap, keep: keep, draw: func(b *sheet.Builder, y quantity.Length) { draw(b, y) }})
	}
	text := func(s string, font printtemplates.Font, size, left quantity.Length) func(b *sheet.Builder, y quantity.Length) quantity.Length {
		s = printable(inPieces(s))
		return func(b *sheet.Builder, y quantity.Length) quantity.Length {
			return b.Paragraph(sheet.Paragraph{String: s, Font: font, Size: size, Smallest: size, Box: box(left, y, p.right, y+tall/2)})
		}
	}
	add(len(p.Lifts) > 0, p.line("The lifts"))
	if len(p.Lifts) == 0 {
		add(false, text("No lift is planned for this day.", printtemplates.Regular, reportType, p.left))
	}
	for _, l := range p.Lifts {
		add(true, text(l.Title, printtemplates.Bold, 4*mm, p.left))
		add(len(l.Kept)+len(l.Notes) > 0, text(l.Lift, printtemplates.Regular, reportType, p.left))
		for i, kept := range l.Kept {
			add(i+1 < len(l.Kept), text("[  ] "+kept, printtemplates.Bold, reportType, p.left+6*mm))
		}
		for _, note := range l.Notes {
			add(false, text(note, printtemplates.Regular, reportType, p.left+6*mm))
		}
	}
	add(len(p.Rack) > 0, p.line("The rack"))
	if len(p.Rack) > 0 {
		add(true, p.cells(true, [6]string{"Place", "Sling", "What it is", "Stamped", "Due", "Stands"}))
	}
	for _, r := range p.Rack {
		add(false, p.cells(r.Stays, [6]string{r.Place, r.Ident, r.Is, r.Rated, r.Due, r.Stands}))
	}
	return list, err
}

func (p dayPage) line(s string) func(b *sheet.Builder, y quantity.Length) quantity.Length {
	return func(b *sheet.Builder, y quantity.Length) quantity.Length {
		b.Rule(box(p.left, y+mm, p.right, y+mm+rule))
		return 2*mm + b.Paragraph(sheet.Paragraph{String: s, Font: printtemplates.Bold, Size: 5 * mm, Smallest: 5 * mm, Box: box(p.left, y+2*mm, p.right, y+tall/2)})
	}
}

// cells is a line of the rack.
func (p dayPage) cells(bold bool, cells [6]string) func(b *sheet.Builder, y quantity.Length) quantity.Length {
	font := printtemplates.Regular
	if bold {
		font = printtemplates.Bold
	}
	for i := range cells {
		cells[i] = printable(inPiecesOf(cells[i], 10)) // as many as the narrowest column holds
	}
	return func(b *sheet.Builder, y quantity.Length) (height quantity.Length) {
		width, at := p.right-p.left, p.left
		for i, share := range rackShares {
			next := at + width*share/100
			height = max(height, b.Paragraph(sheet.Paragraph{String: cells[i], Font: font, Size: 2600, Smallest: smallest, Box: box(at, y, next-1500, y+tall/2)}))
			at = next
		}
		return height
	}
}

func (p dayPage) page(blocks []block, n, of int) (sheet.Drawing, error) {
	b := sheet.NewBuilder(p.Title+", page "+strconv.Itoa(n), p.width, p.height, slipMargin-2*mm)
	b.Label(sheet.Label{String: printable(p.Title), Font: printtemplates.Bold, Size: 6 * mm, Smallest: 3 * mm, At: pt(p.left, slipMargin+7*mm), Room: p.right - p.left - 45*mm})
	b.Label(sheet.Label{String: "Page " + strconv.Itoa(n) + " of " + strconv.Itoa(of), Size: 3 * mm, Smallest: smallest, At: pt(p.right, slipMargin+7*mm), Align: printtemplates.Right, Room: 42 * mm})
	b.Paragraph(sheet.Paragraph{String: printable(inPieces(p.Under)), Size: 3400, Smallest: smallest, Box: box(p.left, slipMargin+9*mm, p.right, slipMargin+17*mm)})
	y := p.top()
	for _, each := range blocks {
		each.draw(b, y)
		y += each.height
	}
	y, right := p.height-slipMargin-reportFoot+4*mm, p.right
	if p.Head != (tagcode.Head{}) {
		right -= headSide + mm
		drawHead(b, p.Head, pt(right+mm, y))
	}
	y += b.Paragraph(sheet.Paragraph{String: p.Day.Words.Say(dayCaution), Size: 2800, Smallest: smallest, Box: box(p.left, y, right, y+14*mm)}) + mm
	b.Paragraph(sheet.Paragraph{String: p.Foot, Font: printtemplates.Bold, Size: 2800, Smallest: smallest, Box: box(p.left, y, right, p.height-slipMargin)})
	return b.Drawing()
}
