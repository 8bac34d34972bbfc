package quantity_test

import (
	"fmt"

	"lapwing/coverage/quantity"
)

// Forty feet are read, kept in metres, and written for two sorts of reader.
func ExampleParse() {
	metres, err := quantity.Parse("40 ft", quantity.Length)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f m\n", metres)
	fmt.Println(quantity.US.Metres(metres))
	fmt.Println(quantity.Metric.Metres(metres))

	_, err = quantity.Parse("40", quantity.Length)
	fmt.Println(err)
	// Output:
	// 12.192 m
	// 40 ft
	// 12 m
	// found "40", want a length such as "50 ft" or "16.5 m"
}

// A rate may be by mass, volume, seeds or nutrient: its kind tells which.
func ExampleRead() {
	v, err := quantity.Read("70 lb N/ac", quantity.Rate)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(v.Kind == quantity.NutrientRate, v.Nutrient)
	fmt.Printf("%.1f kg/ha\n", v.SI*quantity.Hectare)
	// Output:
	// true N
	// 78.5 kg/ha
}
