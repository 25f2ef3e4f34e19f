package scan

// steps are parts of the search that can be left out, so that a test shows what each
// brings. The zero value leaves none out.
type steps uint

const (
	noFourth   steps = 1 << iota // the fourth place completes a parallelogram
	noVersions                   // only the version that the marks' distance says
	noRefine                     // the four places stay where they were found
	noMissing                    // a symbol has three finders to be seen
	noSizes                      // only the size that is looked at first
	noEqual                      // modules as they were sampled
	noErasures                   // no word is taken as lost
	noFollow                     // every plate is flat
	noClose                      // finders only where lines cross them
	noLight                      // no light on dark
)
