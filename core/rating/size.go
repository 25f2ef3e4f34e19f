package rating

import (
	"fmt"

	"cribgate/core/quantity"
)

// Size is a chain size as it is printed in its own system: an inch size is not
// the millimetre size next to it, and none is ever converted. The zero Size is
// none. Sizes are comparable.
type Size struct {
	system System
	place  uint8
}

type sizeRow struct {
	printed string
	nominal quantity.Length
}

// The inch column and the mm column of the US tables (US OSHA, Guidance on Safe
// Sling Use, tables 1 and 2); the sizes of the EN 818-4 table and of grade 10
// charts.
var (
	usSizes = [...]sizeRow{
		{"7/32", 5_500}, {"9/32", 7_000}, {"5/16", 8_000}, {"3/8", 10_000}, {"1/2", 13_000},
		{"5/8", 16_000}, {"3/4", 20_000}, {"7/8", 22_000}, {"1", 26_000}, {"1-1/4", 32_000},
	}
	enSizes = [...]sizeRow{
		{"6", 6_000}, {"7", 7_000}, {"8", 8_000}, {"10", 10_000}, {"13", 13_000}, {"16", 16_000},
		{"19", 19_000}, {"20", 20_000}, {"22", 22_000}, {"26", 26_000}, {"32", 32_000},
	}
)

func sizesOf(s System) []sizeRow {
	switch s {
	case US:
		return usSizes[:]
	case EN:
		return enSizes[:]
	}
	return nil
}

// ParseSize reads a size as it is printed in the system's tables, and no other
// spelling. On error the Size is none.
func ParseSize(s System, printed string) (Size, error) {
	for i, row := range sizesOf(s) {
		if row.printed == printed {
			return Size{s, uint8(i)}, nil
		}
	}
	return Size{}, fmt.Errorf("rating: %q is not a chain size of system %q", printed, s)
}

// Sizes lists the sizes of a system, the smallest first.
func Sizes(s System) []Size {
	rows := sizesOf(s)
	list := make([]Size, len(rows))
	for i := range rows {
		list[i] = Size{s, uint8(i)}
	}
	return list
}

// SizeAt is the size at a place of its system's list, from 0; false where the
// list has no such place.
func SizeAt(s System, place int) (Size, bool) {
	if place < 0 || place >= len(sizesOf(s)) {
		return Size{}, false
	}
	return Size{s, uint8(place)}, true
}

func (z Size) row() sizeRow {
	if rows := sizesOf(z.system); int(z.place) < len(rows) {
		return rows[z.place]
	}
	return sizeRow{}
}

// System is the system that the size is printed in.
func (z Size) System() System { return z.system }

// Place is the size's place in its system's list, from 0. Printed tags carry
// it: places never change.
func (z Size) Place() int { return int(z.place) }

// String is the printed spelling; empty for none.
func (z Size) String() string { return z.row().printed }

// Words is the size for people with its unit: "3/8 in", "10 mm".
func (z Size) Words() string {
	switch z.system {
	case US:
		return z.String() + " in"
	case EN:
		return z.String() + " mm"
	}
	return "no size"
}

// Nominal is the nominal diameter of the chain in the mm column of the tables;
// 0 for none.
func (z Size) Nominal() quantity.Length { return z.row().nominal }
