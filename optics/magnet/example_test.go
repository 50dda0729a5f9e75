package magnet_test

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/magnet"
	"wedgework/optics/quantity"
)

// ring is 4 mm long, 3 and 6 mm in diameter, of 1.2 T at 20 degC.
var ring = magnet.Ring{
	Inner: 1.5 * quantity.Millimetre, Outer: 3 * quantity.Millimetre, Length: 4 * quantity.Millimetre,
	Remanence: 1.2, Coefficient: -0.001, Temperature: magnet.Reference,
}

// The field in the bore runs against the magnetization, outside along it; the values are those of testdata/published.
func ExampleRing_OnAxis() {
	for _, z := range []quantity.Length{0, 4 * quantity.Millimetre} {
		b, err := ring.OnAxis(z, magnet.Reference)
		fmt.Printf("%.4f T %v\n", b, err)
	}
	// Output:
	// -0.2944 T <nil>
	// 0.1018 T <nil>
}

// 50 K take 5 % off a remanence of -0.1 %/K.
func ExampleRing_RemanenceAt() {
	br, err := ring.RemanenceAt(quantity.Celsius(70))
	fmt.Printf("%.3f T %v\n", br, err)
	_, err = ring.RemanenceAt(quantity.Celsius(1100))
	fmt.Println(err)
	// Output:
	// 1.140 T <nil>
	// magnet at 1100 degC: its remanence of 1.2 T at 20 degC with -0.1 percent/kelvin leaves none
}

// A film that saturates at 80 mT has a margin of about 3.6 in the middle of the ring.
func ExampleRing_Margin() {
	film := magnet.Film{
		Radius: 0.3 * quantity.Millimetre, From: -0.2 * quantity.Millimetre, To: 0.2 * quantity.Millimetre,
		Saturation: 80e-3,
	}
	m, err := ring.Margin(film, magnet.Reference)
	fmt.Printf("%.2f %v\n", m.Ratio, err)
	// Output: 3.66 <nil>
}

// The integral of Bz along the axis through a ring and far beyond is nil: what the bore gives, the outside takes back.
func ExampleRing_Integral() {
	through, err := ring.Integral(r3.Vec{Z: -5e-3}, r3.Vec{Z: 5e-3}, magnet.Reference)
	fmt.Printf("%.3f mT m %v\n", through*1e3, err)
	far, err := ring.Integral(r3.Vec{Z: -10}, r3.Vec{Z: 10}, magnet.Reference)
	fmt.Println(math.Abs(far) < 1e-6*math.Abs(through), err)
	// Output:
	// -0.518 mT m <nil>
	// true <nil>
}
