package grade

import (
	"fmt"
	"math"
	"slices"

	"cribgate/labeler/symbol"
)

// Print judges the print in a picture, against the symbol that was meant: that of
// the text that was read ([symbol.Encode]), or of the tag that was printed. A
// picture that allows no verdict gives a Report with its Faults and no Lines.
func Print(v View, want symbol.Symbol) Report {
	switch {
	case v.Text() != want.Text() || want.Text() == "":
		return Report{Faults: []Fault{AnotherTag}}
	case v.Modules() != symbol.Modules:
		return Report{Faults: []Fault{AnotherDrawing}}
	}
	light := sample(v)
	if light.cut() {
		return Report{Faults: []Fault{CutOff}}
	}
	stood := stanceOf(v)
	s, evenness := even(v, light, want)
	p := proof{want: want, cells: s.cells(light)}
	p.levels = p.cells.levels()
	all := edges(s, p.levels, p.cells, want)

	var r Report
	fault := func(f Fault, is bool) {
		if is {
			r.Faults = append(r.Faults, f)
		}
	}
	small := !(stood.pixels >= minPixels-0.05) // what is left of whole pixels after the fit
	fault(TooSmall, small)
	fault(Askew, !(stood.keystone <= maxKeystone && stood.skew <= maxSkew))
	fault(Blurred, !small && !(rise(all) <= maxRise))
	fault(Glare, glare(s, light, want))
	fault(UnevenLight, !(evenness >= minEvenness))
	fault(Faint, !(p.levels.span() >= minDifference))
	if len(r.Faults) == 0 && p.drawnOtherwise() {
		fault(AnotherDrawing, true)
	}
	if len(r.Faults) > 0 {
		return r
	}
	r.Lines = []Line{
		{Parameter: Decode, Grade: A, Value: 1, Measured: "read"},
		p.unusedLine(), p.modulationLine(), p.fixedLine(), p.formatLine(), p.marginLine(),
		stood.axialLine(), stood.gridLine(all), p.contrastLine(s), growthLine(all),
	}
	r.Advice = advise(r)
	return r
}

func (s stance) askew() string {
	return fmt.Sprintf("tilted: cannot be given where opposite sides differ by more than %.0f %% or stand more than %.0f° off square; here %.1f %% and %.1f°",
		100*squareKeystone, squareSkew, 100*s.keystone, s.skew)
}

func (s stance) axialLine() Line {
	if !s.square() {
		return Line{Parameter: AxialNonUniformity, Value: math.NaN(), Missing: s.askew()}
	}
	return Line{Parameter: AxialNonUniformity, Value: s.axial, Grade: AxialNonUniformity.row().scale.of(s.axial),
		Measured: fmt.Sprintf("%.3f of the mean side", s.axial)}
}

func (s stance) gridLine(all []edge) Line {
	w := wander(all)
	switch {
	case !s.square():
		return Line{Parameter: GridNonUniformity, Value: math.NaN(), Missing: s.askew()}
	case math.IsNaN(w):
		return Line{Parameter: GridNonUniformity, Value: w, Missing: "too few edges are left to tell"}
	}
	return Line{Parameter: GridNonUniformity, Value: w, Grade: GridNonUniformity.row().scale.of(w),
		Measured: fmt.Sprintf("%.2f of a module at the worst place", w)}
}

// contrastLine is how much darker dark is than light, as a share of light.
func (p proof) contrastLine(s surface) Line {
	light := p.levels.light
	if s.Inverted() { // light on dark: reflectance was turned over
		light = 1 - p.levels.dark
	}
	v := p.levels.span() / light
	return Line{Parameter: Contrast, Value: v, Measured: fmt.Sprintf("dark gives back %.0f %% less than light", 100*v)}
}

func growthLine(all []edge) Line {
	g := growth(all)
	if math.IsNaN(g) {
		return Line{Parameter: Growth, Value: g, Missing: "no timing line is left"}
	}
	word := "wider"
	if g < 0 {
		word = "narrower"
	}
	return Line{Parameter: Growth, Value: g, Measured: fmt.Sprintf("dark modules are %.0f %% %s", math.Abs(g)*100, word)}
}

// advise says what to change, by what was measured.
func advise(r Report) []Advice {
	var all []Advice
	get := func(p Parameter) Line { l, _ := r.Line(p); return l }
	add := func(a Act, figure float64, when bool) {
		if when {
			all = append(all, Advice{a, figure})
		}
	}
	grown, contrast := get(Growth).Value, get(Contrast).Value
	add(LessHeat, grown, grown >= growthNoticed)
	add(MoreHeat, grown, grown <= -growthNoticed)
	add(Darker, contrast, contrast < paleContrast)
	damaged := get(UnusedCorrection).Grade <= B || get(FixedPattern).Grade <= B || get(FormatBits).Grade <= B
	add(MendDamage, get(UnusedCorrection).Value, damaged)
	add(CleanHead, get(Modulation).Value, !damaged && len(all) == 0 && get(Modulation).Grade <= B)
	axial, grid := get(AxialNonUniformity), get(GridNonUniformity)
	add(Proportion, axial.Value, axial.Missing == "" && axial.Grade <= B)
	add(EvenFeed, grid.Value, grid.Missing == "" && grid.Grade <= B)
	add(FreeMargin, get(QuietZone).Value, get(QuietZone).Grade <= B)
	add(SquareOn, 0, axial.Missing != "")
	return slices.Clip(all)
}
