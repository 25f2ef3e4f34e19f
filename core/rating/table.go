package rating

import (
	"cribgate/core/quantity"
	"cribgate/core/source"
)

// Cell is one printed load of a table.
type Cell struct {
	Load   quantity.Mass
	Source source.Clause
}

// row is one printed row: the single leg, then two legs and three or four legs
// by basis, the steepest first. A 0 is a cell that no table prints.
type row struct {
	cells  [7]int64
	source source.Clause
}

// Columns of a row.
const (
	usTwo, usThree = 1, 4 // h60, h45, h30
	enTwo, enThree = 1, 3 // b45, b60
)

// us80 is table 1 of US OSHA, Guidance on Safe Sling Use: grade 80, pounds, by
// angle from horizontal, in the order of usSizes.
var us80 = [...]row{
	{[7]int64{2_100, 3_600, 3_000, 2_100, 5_500, 4_400, 3_200}, source.OSHATable1},
	{[7]int64{3_500, 6_100, 4_900, 3_500, 9_100, 7_400, 5_200}, source.OSHATable1},
	{[7]int64{4_500, 7_800, 6_400, 4_500, 11_700, 9_500, 6_800}, source.OSHATable1},
	{[7]int64{7_100, 12_300, 10_000, 7_100, 18_400, 15_100, 10_600}, source.OSHATable1},
	{[7]int64{12_000, 20_800, 17_000, 12_000, 31_200, 25_500, 18_000}, source.OSHATable1},
	{[7]int64{18_100, 31_300, 25_600, 18_100, 47_000, 38_400, 27_100}, source.OSHATable1},
	{[7]int64{28_300, 49_000, 40_000, 28_300, 73_500, 60_000, 42_400}, source.OSHATable1},
	{[7]int64{34_200, 59_200, 48_400, 34_200, 88_900, 72_500, 51_300}, source.OSHATable1},
	{[7]int64{47_700, 82_600, 67_400, 47_700, 123_900, 101_200, 71_500}, source.OSHATable1},
	{[7]int64{72_300, 125_200, 102_200, 72_300, 187_800, 153_400, 108_400}, source.OSHATable1},
}

// us100 is table 2 of the same guide: grade 100. The 1 in row, and three or four
// legs at 45° and 30° of 5/8, 3/4 and 7/8, are not in the print that was seen
// and stand on trade charts ([cellSource]).
var us100 = [...]row{
	{[7]int64{2_700, 4_700, 3_800, 2_700, 7_000, 5_700, 4_000}, source.OSHATable2},
	{[7]int64{4_300, 7_400, 6_100, 4_300, 11_200, 9_100, 6_400}, source.OSHATable2},
	{[7]int64{5_700, 9_900, 8_100, 5_700, 14_800, 12_100, 8_500}, source.OSHATable2},
	{[7]int64{8_800, 15_200, 12_400, 8_800, 22_900, 18_700, 13_200}, source.OSHATable2},
	{[7]int64{15_000, 26_000, 21_200, 15_000, 39_000, 31_800, 22_500}, source.OSHATable2},
	{[7]int64{22_600, 39_100, 32_000, 22_600, 58_700, 47_900, 33_900}, source.OSHATable2},
	{[7]int64{35_300, 61_100, 49_900, 35_300, 91_700, 74_900, 53_000}, source.OSHATable2},
	{[7]int64{42_700, 74_000, 60_400, 42_700, 110_900, 90_600, 64_000}, source.OSHATable2},
	{[7]int64{59_700, 103_400, 84_400, 59_700, 155_100, 126_600, 89_550}, source.Grade100Charts},
	{}, // 1-1/4: no row
}

// us120 holds the single legs of grade 120, pounds: the chain formula rounded to
// 100, as trade charts print it. No listed sling grade of ASTM A906.
var us120 = [...]row{
	{}, // 7/32: no row
	{[7]int64{5_200}, source.Grade120Formula},
	{[7]int64{6_800}, source.Grade120Formula},
	{[7]int64{10_600}, source.Grade120Formula},
	{[7]int64{17_900}, source.Grade120Formula},
	{[7]int64{27_100}, source.Grade120Formula},
	{[7]int64{42_400}, source.Grade120Formula},
	{}, {}, {}, // 7/8, 1, 1-1/4: no row
}

// en80 is the table of EN 818-4, grade 8, kilograms, by angle from vertical, in
// the order of enSizes, through one full trade table.
var en80 = [...]row{
	{[7]int64{1_120, 1_600, 1_120, 2_360, 1_700}, source.EN4Table},
	{[7]int64{1_500, 2_120, 1_500, 3_150, 2_240}, source.EN4Table},
	{[7]int64{2_000, 2_800, 2_000, 4_250, 3_000}, source.EN4Table},
	{[7]int64{3_150, 4_250, 3_150, 6_700, 4_750}, source.EN4Table},
	{[7]int64{5_300, 7_500, 5_300, 11_200, 8_000}, source.EN4Table},
	{[7]int64{8_000, 11_200, 8_000, 17_000, 11_800}, source.EN4Table},
	{}, // 19: no row
	{[7]int64{12_500, 17_000, 12_500, 26_500, 19_000}, source.EN4Table},
	{[7]int64{15_000, 21_200, 15_000, 31_500, 22_400}, source.EN4Table},
	{[7]int64{21_200, 30_000, 21_200, 45_000, 31_500}, source.EN4Table},
	{[7]int64{31_500, 45_000, 31_500, 67_000, 47_500}, source.EN4Table},
}

// en100 is grade 10, kilograms: singles by trade charts in the style of EN
// 818-4, the other cells by the rule that reproduces all of its grade 8 table.
var en100 = [...]row{
	{[7]int64{1_400, 2_000, 1_400, 3_000, 2_120}, source.EN10Singles},
	{[7]int64{1_900, 2_650, 1_900, 4_000, 2_800}, source.EN10Singles},
	{[7]int64{2_500, 3_550, 2_500, 5_300, 3_750}, source.EN10Singles},
	{[7]int64{4_000, 5_600, 4_000, 8_000, 6_000}, source.EN10Singles},
	{[7]int64{6_700, 9_000, 6_700, 14_000, 10_000}, source.EN10Singles},
	{[7]int64{10_000, 14_000, 10_000, 21_200, 15_000}, source.EN10Singles},
	{[7]int64{14_000, 20_000, 14_000, 30_000, 21_200}, source.EN10Singles},
	{[7]int64{16_000, 22_400, 16_000, 33_500, 23_600}, source.EN10Computed}, // not in the charts seen
	{[7]int64{19_000, 26_500, 19_000, 40_000, 28_000}, source.EN10Singles},
	{[7]int64{26_500, 37_500, 26_500, 56_000, 40_000}, source.EN10Singles},
	{[7]int64{40_000, 56_000, 40_000, 85_000, 60_000}, source.EN10Computed}, // not in the charts seen
}

// TableCell is the printed load for a size, a number of legs and a basis; false
// where no table prints one. EN has no grade 120.
func TableCell(g Grade, z Size, legs int, b Basis) (Cell, bool) {
	col := column(class(legs), b)
	if col < 0 || !b.belongs(z.system, legs) || z.String() == "" {
		return Cell{}, false
	}
	r, unit := row{}, quantity.Pound
	switch {
	case z.system == US && g == Grade80:
		r = us80[z.place]
	case z.system == US && g == Grade100:
		r = us100[z.place]
	case z.system == US && g == Grade120:
		r = us120[z.place]
	case z.system == EN && g == Grade80:
		r, unit = en80[z.place], quantity.Kilogram
	case z.system == EN && g == Grade100:
		r, unit = en100[z.place], quantity.Kilogram
	}
	if r.cells[col] == 0 {
		return Cell{}, false
	}
	return Cell{quantity.Mass(r.cells[col]) * unit, cellSource(r, g, z, col)}, true
}

// cellSource is the row's clause, or the one that a single cell stands on where
// that is weaker.
func cellSource(r row, g Grade, z Size, col int) source.Clause {
	switch {
	case r.source == source.EN10Singles && col > 0:
		return source.EN10Computed
	case r.source == source.OSHATable2 && col > usThree && z.Nominal() >= 16*quantity.Millimetre:
		return source.Grade100Charts
	}
	return r.source
}

// column finds the printed column; -1 where there is none.
func column(class int, b Basis) int {
	two, three, step := usTwo, usThree, int(b)-int(H60)
	if b == B45 || b == B60 {
		two, three, step = enTwo, enThree, int(b)-int(B45)
	}
	switch {
	case class == 1 && b == Vertical:
		return 0
	case class == 2 && b > Vertical:
		return two + step
	case class == 3 && b > Vertical:
		return three + step
	}
	return -1
}
