package quantity

// Temperature is a temperature in ninths of a degree Celsius, so that whole
// degrees Celsius and whole degrees Fahrenheit are both exact. The zero
// Temperature is 0 °C and so does not mean "none".
type Temperature int64

// MinTemperature and MaxTemperature bound every temperature that is read:
// -273 °C to 2000 °C.
const (
	MinTemperature Temperature = -273 * 9
	MaxTemperature Temperature = 2000 * 9
)

// Bounds of the same in whole degrees, for readers.
const (
	MinCelsius    = -273
	MaxCelsius    = 2000
	MinFahrenheit = -459 // -273 °C is -459.4 °F
	MaxFahrenheit = 3632 // 2000 °C exactly
)

// Celsius is n degrees Celsius.
func Celsius(n int64) Temperature { return Temperature(n * 9) }

// Fahrenheit is n degrees Fahrenheit.
func Fahrenheit(n int64) Temperature { return Temperature((n - 32) * 5) }

// Celsius is the temperature in whole degrees Celsius, the nearest, halves up.
func (t Temperature) Celsius() int64 { return nearest(int64(t), 9) }

// Fahrenheit is the temperature in whole degrees Fahrenheit, the nearest, halves up.
func (t Temperature) Fahrenheit() int64 { return nearest(int64(t), 5) + 32 }

// WholeCelsius is the temperature as a count of degrees; ok is false where it is no whole number.
func (t Temperature) WholeCelsius() (n int64, ok bool) { return int64(t / 9), t%9 == 0 }

// WholeFahrenheit is the temperature as a count of degrees; ok is false where it is no whole number.
func (t Temperature) WholeFahrenheit() (n int64, ok bool) { return int64(t/5) + 32, t%5 == 0 }

// String is the temperature for people in whole degrees Celsius: "204 °C".
func (t Temperature) String() string { return t.InCelsius() }

// InCelsius is the temperature for people in whole degrees Celsius, the nearest, halves up.
func (t Temperature) InCelsius() string { return group(t.Celsius()) + " °C" }

// InFahrenheit is the temperature for people in whole degrees Fahrenheit, the nearest, halves up.
func (t Temperature) InFahrenheit() string { return group(t.Fahrenheit()) + " °F" }
