package card

import (
	"fmt"

	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/tagcode"
	"cribgate/labeler/sheet"
	"cribgate/printtemplates"
)

// front says who the sling is and what it may carry.
func (p Pocket) front() (sheet.Drawing, error) {
	s := p.side(1, p.Columns, 32*mm)
	s.Label(sheet.Label{String: p.Ident, Font: printtemplates.Bold, Size: 6 * mm, Smallest: 3 * mm, At: pt(s.left, 10*mm), Room: 61 * mm})
	s.Label(sheet.Label{String: what(p.Sling), Size: 3400, Smallest: smallest, At: pt(s.left, 15_200), Room: s.right - s.left})
	s.Paragraph(sheet.Paragraph{String: stamped(p.Sling) + p.heated(), Size: 2800, Smallest: smallest, Box: box(s.left, 16_300, s.right, 24_600)})

	const top = 25 * mm
	s.Rule(box(s.left, top, s.right, top+rule))
	s.Paragraph(sheet.Paragraph{
		String: "Most that may be lifted, load centred. Angle of the legs:", Font: printtemplates.Bold, Size: 2600, Smallest: smallest,
		Box: box(s.left+500, 27*mm, s.label-mm, 44*mm),
	})
	for i, c := range s.columns {
		left, right := s.column(i)
		s.Figure("picture of "+c.Words, box(left+mm, 26*mm, right-mm, 36*mm), picture(pt((left+right)/2, 27*mm), c)...)
	}
	s.head(39_500)
	const rows, end = 43_500, 120 * mm
	k := style{heading: 4400, figure: 3600, both: true}
	k.row = min(8*mm, (end-rows-quantity.Length(len(p.Front))*k.heading)/rowsOf(p.Front))
	s.table(rows, p.Front, k)

	y := end + 800
	y += s.Paragraph(sheet.Paragraph{String: s.notes.text(true), Size: 2300, Smallest: smallest, Box: box(s.left, y, s.right, y+7500)}) + 400
	y += s.Paragraph(sheet.Paragraph{String: p.dates(), Font: printtemplates.Bold, Size: 2600, Smallest: smallest, Box: box(s.left, y, s.right, y+6500)}) + 400
	s.Paragraph(sheet.Paragraph{String: p.cautions(), Size: 2400, Smallest: smallest, Box: box(s.left, y, s.right, pocketHeight-pocketMargin)})
	return s.Drawing()
}

func (p Pocket) dates() string {
	register := ""
	if p.Head != (tagcode.Head{}) { // the paper vouches for the register, and the register for the paper
		register = " (register at " + noBreak(p.Head.String()) + ")"
	}
	governs := "the rating tag on the sling governs"
	if p.Sling.TagDoubt() == rating.LoadHigh {
		governs = "a part bears less than is on the rating tag: these figures hold"
	}
	return fmt.Sprintf("Printed %s from the record of %s%s; %s. Next thorough inspection due %s: not for use after that day.",
		noBreak(p.Printed.Long()), noBreak(p.AsOf.Long()), register, governs, noBreak(p.Due.Long()))
}

// heated says what the figures allow for already.
func (p Pocket) heated() string {
	if p.Sling.Hottest == nil {
		return ""
	}
	return " The figures allow for the " + noBreak(p.Units.Temperature(*p.Sling.Hottest)) + " that the chain has been at."
}

func (p Pocket) cautions() string {
	text := "Look at the sling before each use; whether it goes out is decided at the counter. " + caution
	if p.Margin > 0 {
		text = fmt.Sprintf("Add %d\u00a0%% to a load that was not weighed (site policy). ", p.Margin) + text
	}
	return text
}

// back says what takes from the figures of the front.
func (p Pocket) back() (sheet.Drawing, error) {
	s := p.side(2, p.Columns[:len(p.Columns)-1], 48*mm)
	s.Label(sheet.Label{String: p.Ident, Font: printtemplates.Bold, Size: 3800, Smallest: 3 * mm, At: pt(s.left, 8*mm), Room: 61 * mm})
	s.Paragraph(sheet.Paragraph{
		String: "Only one of these at a time: for two together ask at the counter.", Size: 2400, Smallest: smallest,
		Box: box(s.left, 9*mm, s.label-mm, 15_500),
	})
	s.head(12 * mm)
	const rows, end = 16 * mm, 117 * mm
	k := style{heading: 3400, figure: 2600}
	k.row = min(4*mm, (end-rows-quantity.Length(len(p.Back))*k.heading)/rowsOf(p.Back))
	y := s.table(rows, p.Back, k) + 600
	rules, err := p.rules()
	if err != nil {
		return sheet.Drawing{}, err
	}
	s.Paragraph(sheet.Paragraph{
		String: s.notes.text(false) + " Sources: " + rules, Size: 2300, Smallest: smallest,
		Box: box(s.left, y, s.right, pocketHeight-pocketMargin),
	})
	return s.Drawing()
}
