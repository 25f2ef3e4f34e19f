package weight

import "cribgate/core/source"

// Material is what a load is made of. The zero Material is none.
type Material uint8

// The materials.
const (
	Steel Material = iota + 1
	CastIron
	Aluminium
	Concrete // of normal weight, reinforced
	Water    // fresh
)

type materialRow struct {
	code    string
	words   string
	density int64 // kg/m³
	from    source.Clause
}

// The published figures, each rounded up to ten kilograms where it is stated as a
// weight (a kilonewton is taken as 101.98 kg).
var materials = [...]materialRow{
	{"", "", 0, source.None},
	{"steel", "steel", 7_850, source.SteelDensity},
	{"cast-iron", "cast iron", 7_210, source.IronDensity},
	{"aluminium", "aluminium", 2_760, source.AluminiumDensity},
	{"concrete", "reinforced concrete", 2_550, source.ReinforcedConcrete},
	{"water", "water", 1_020, source.WaterDensity},
}

func (m Material) row() materialRow {
	if int(m) >= len(materials) {
		return materials[0]
	}
	return materials[m]
}

// Materials gives the closed list in its order.
func Materials() []Material {
	list := make([]Material, 0, len(materials)-1)
	for m := Steel; int(m) < len(materials); m++ {
		list = append(list, m)
	}
	return list
}

// ParseMaterial reads the code of a material; false for any other word.
func ParseMaterial(code string) (Material, bool) {
	for _, m := range Materials() {
		if m.String() == code {
			return m, true
		}
	}
	return 0, false
}

// String is the code that ParseMaterial reads; empty for none.
func (m Material) String() string { return m.row().code }

// Words names the material for people.
func (m Material) Words() string { return m.row().words }

// Density is in kilograms per cubic metre; 0 for none.
func (m Material) Density() int64 { return m.row().density }

// Source is where the density is published.
func (m Material) Source() source.Clause { return m.row().from }
