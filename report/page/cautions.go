package page

// cautions stand on every page: people walk and drive by what it says.
func cautions() []string {
	return []string{
		"This report is a record of where machines went. It is not a safety device and steers nothing.",
		"Before going back: look for wet ground that will not carry the machine, and for power lines above and along the way. Fold the implement before passing under lines.",
	}
}

// AmmoniaCautions are the few things to have right before going back with
// anhydrous ammonia, and who has the last word. Water and eye protection on
// the equipment, the filling limit of 85 % and standing upwind are as farm
// safety sheets of state extension services and 29 CFR 1910.111 have them.
func AmmoniaCautions() []string {
	return []string{
		"Wear tight, unvented goggles and long-cuffed gloves made for ammonia, and see that they fit.",
		"Carry water: 5 gal (20 L) at least on the equipment, and an eyewash bottle on you. On contact flush with water at once, for 15 minutes or more, then get medical care.",
		"Fill tanks to 85 % at most. Stand upwind. Treat every line as full, and bleed the pressure before you uncouple a hose.",
		"Follow the label, the local code and licensed practice: they have the last word, not this page.",
	}
}
