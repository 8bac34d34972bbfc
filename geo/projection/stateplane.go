package projection

import (
	"strconv"
	"strings"
	"sync"
)

// A statePlane is a zone of the State Plane Coordinate System of 1983, or
// another grid of a state of the USA, in each frame of NAD83 and, where the
// state has laws on feet, in feet too.
type statePlane struct {
	zone    string
	foot    Unit // what its numbers for feet count in; metre where there is none
	numbers numbers
	definition
}

// numbers are those of the EPSG dataset in metres and feet on NAD83,
// NAD83(HARN), NAD83(NSRS2007) and NAD83(2011), 0 where there is none.
type numbers [8]int

// statePlaneFrames names the frames of numbers, two columns each.
var statePlaneFrames = [4]string{"NAD83", "NAD83(HARN)", "NAD83(NSRS2007)", "NAD83(2011)"}

// at returns the system of a number in column i. Hawaii lies on the Pacific
// plate, which has the frame PA11 where the others have 2011.
func (z *statePlane) at(i int) (name string, unit Unit) {
	frame := statePlaneFrames[i/2]
	if i/2 == 3 && strings.HasPrefix(z.zone, "Hawaii") {
		frame = "NAD83(PA11)"
	}
	name = frame + " / " + z.zone
	if i%2 == 0 {
		return name, metre
	}
	return name + map[Unit]string{foot: " (ft)", usSurveyFoot: " (ftUS)"}[z.foot], z.foot
}

// statePlanes are the zones of J. E. Stem, "State Plane Coordinate System of
// 1983", NOAA Manual NOS NGS 5 (1989), appendix A, with Kentucky's single zone,
// which came later. False origins are in metres, as the states' laws have them;
// EPSG rounds those in feet, by 0.15 mm at most, and by 0.8 mm for North
// Carolina. Scale factors are rounded as EPSG has them: 1:15,000 is 0.999933333.
var statePlanes = sync.OnceValue(func() (all []statePlane) {
	units := map[string]Unit{"-": metre, "ft": foot, "ftUS": usSurveyFoot}
	methods := map[string]*method{"tm": transverse, "lcc": lambert2, "aea": equalAreaConic, "hotine": obliqueMercatorA}
	for line := range strings.Lines(statePlaneTable) {
		line = strings.TrimSpace(line)
		if line == "" || line[0] == '#' { // says what follows
			continue
		}
		columns := strings.Split(line, " | ")
		z := statePlane{zone: columns[0], foot: units[columns[1]]}
		for i, n := range strings.Fields(columns[2]) {
			z.numbers[i] = int(tableNumber(n))
		}
		words := strings.Fields(columns[3])
		var values []float64
		for _, word := range words[1:] {
			d, m, minutes := strings.Cut(strings.TrimSuffix(word, "'"), "°")
			v := tableNumber(d)
			if minutes {
				v = dm(v, tableNumber(m))
			}
			values = append(values, v)
		}
		z.definition = define(methods[words[0]], values...)
		all = append(all, z)
	}
	return all
})

// tableNumber reads a number of a table of ours.
func tableNumber(text string) float64 {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		panic(err) // our own text: the program is built wrong
	}
	return v
}

// statePlaneTable has a line for each zone: its name, what its numbers for feet count in,
// the numbers, and the projection (tm, lcc, aea, or hotine for the oblique Mercator) with
// its parameters in the order of [parameter]. It is text since a table that is filled in
// when the program starts makes the engine of a browser larger by as much again and more.
const statePlaneTable = `
Alabama East | ftUS | 26929 0 2759 0 3465 0 6355 9748 | tm 30°30' -85°50' 0.99996 200000 0
Alabama West | ftUS | 26930 0 2760 0 3466 0 6356 9749 | tm 30 -87°30' 0.999933333 600000 0
Alaska zone 1 | - | 26931 0 0 0 3468 0 6394 0 | hotine 57 -133°40' 0.9999 5000000 -5000000 323.130102361111
Alaska zone 2 | - | 26932 0 0 0 3469 0 6395 0 | tm 54 -142 0.9999 500000 0
Alaska zone 3 | - | 26933 0 0 0 3470 0 6396 0 | tm 54 -146 0.9999 500000 0
Alaska zone 4 | - | 26934 0 0 0 3471 0 6397 0 | tm 54 -150 0.9999 500000 0
Alaska zone 5 | - | 26935 0 0 0 3472 0 6398 0 | tm 54 -154 0.9999 500000 0
Alaska zone 6 | - | 26936 0 0 0 3473 0 6399 0 | tm 54 -158 0.9999 500000 0
Alaska zone 7 | - | 26937 0 0 0 3474 0 6400 0 | tm 54 -162 0.9999 500000 0
Alaska zone 8 | - | 26938 0 0 0 3475 0 6401 0 | tm 54 -166 0.9999 500000 0
Alaska zone 9 | - | 26939 0 0 0 3476 0 6402 0 | tm 54 -170 0.9999 500000 0
Alaska zone 10 | - | 26940 0 0 0 3477 0 6403 0 | lcc 51 -176 1000000 0 53°50' 51°50'
Arizona Central | ft | 26949 2223 2762 2868 3478 3479 6404 6405 | tm 31 -111°55' 0.9999 213360 0
Arizona East | ft | 26948 2222 2761 2867 3480 3481 6406 6407 | tm 31 -110°10' 0.9999 213360 0
Arizona West | ft | 26950 2224 2763 2869 3482 3483 6408 6409 | tm 31 -113°45' 0.999933333 213360 0
Arkansas North | ftUS | 26951 3433 2764 3441 3484 3485 6410 6411 | lcc 34°20' -92 400000 0 36°14' 34°56'
Arkansas South | ftUS | 26952 3434 2765 3442 3486 3487 6412 6413 | lcc 32°40' -92 400000 400000 34°46' 33°18'
California zone 1 | ftUS | 26941 2225 2766 2870 3489 3490 6415 6416 | lcc 39°20' -122 2000000 500000 41°40' 40
California zone 2 | ftUS | 26942 2226 2767 2871 3491 3492 6417 6418 | lcc 37°40' -122 2000000 500000 39°50' 38°20'
California zone 3 | ftUS | 26943 2227 2768 2872 3493 3494 6419 6420 | lcc 36°30' -120°30' 2000000 500000 38°26' 37°4'
California zone 4 | ftUS | 26944 2228 2769 2873 3495 3496 6421 6422 | lcc 35°20' -119 2000000 500000 37°15' 36
California zone 5 | ftUS | 26945 2229 2770 2874 3497 3498 6423 6424 | lcc 33°30' -118 2000000 500000 35°28' 34°2'
California zone 6 | ftUS | 26946 2230 2771 2875 3499 3500 6425 6426 | lcc 32°10' -116°15' 2000000 500000 33°53' 32°47'
Colorado Central | ftUS | 26954 2232 2773 2877 3501 3502 6427 6428 | lcc 37°50' -105°30' 914401.8289 304800.6096 39°45' 38°27'
Colorado North | ftUS | 26953 2231 2772 2876 3503 3504 6429 6430 | lcc 39°20' -105°30' 914401.8289 304800.6096 40°47' 39°43'
Colorado South | ftUS | 26955 2233 2774 2878 3505 3506 6431 6432 | lcc 36°40' -105°30' 914401.8289 304800.6096 38°26' 37°14'
Connecticut | ftUS | 26956 2234 2775 2879 3507 3508 6433 6434 | lcc 40°50' -72°45' 304800.6096 152400.3048 41°52' 41°12'
Delaware | ftUS | 26957 2235 2776 2880 3509 3510 6435 6436 | tm 38 -75°25' 0.999995 200000 0
Florida East | ftUS | 26958 2236 2777 2881 3511 3512 6437 6438 | tm 24°20' -81 0.999941177 200000 0
Florida North | ftUS | 26960 2238 2779 2883 3514 3515 6440 6441 | lcc 29 -84°30' 600000 0 30°45' 29°35'
Florida West | ftUS | 26959 2237 2778 2882 3516 3517 6442 6443 | tm 24°20' -82 0.999941177 200000 0
Georgia East | ftUS | 26966 2239 2780 2884 3518 3519 6444 6445 | tm 30 -82°10' 0.9999 200000 0
Georgia West | ftUS | 26967 2240 2781 2885 3520 3521 6446 6447 | tm 30 -84°10' 0.9999 700000 0
Hawaii zone 1 | - | 26961 0 2782 0 0 0 6628 0 | tm 18°50' -155°30' 0.999966667 500000 0
Hawaii zone 2 | - | 26962 0 2783 0 0 0 6629 0 | tm 20°20' -156°40' 0.999966667 500000 0
Hawaii zone 3 | ftUS | 26963 3759 2784 3760 0 0 6630 6633 | tm 21°10' -158 0.99999 500000 0
Hawaii zone 4 | - | 26964 0 2785 0 0 0 6631 0 | tm 21°50' -159°30' 0.99999 500000 0
Hawaii zone 5 | - | 26965 0 2786 0 0 0 6632 0 | tm 21°40' -160°10' 1 500000 0
Idaho Central | ftUS | 26969 2242 2788 2887 3522 3523 6448 6449 | tm 41°40' -114 0.999947368 500000 0
Idaho East | ftUS | 26968 2241 2787 2886 3524 3525 6450 6451 | tm 41°40' -112°10' 0.999947368 200000 0
Idaho West | ftUS | 26970 2243 2789 2888 3526 3527 6452 6453 | tm 41°40' -115°45' 0.999933333 800000 0
Illinois East | ftUS | 26971 3435 2790 3443 3528 3529 6454 6455 | tm 36°40' -88°20' 0.999975 300000 0
Illinois West | ftUS | 26972 3436 2791 3444 3530 3531 6456 6457 | tm 36°40' -90°10' 0.999941177 700000 0
Indiana East | ftUS | 26973 2965 2792 2967 3532 3533 6458 6459 | tm 37°30' -85°40' 0.999966667 100000 250000
Indiana West | ftUS | 26974 2966 2793 2968 3534 3535 6460 6461 | tm 37°30' -87°5' 0.999966667 900000 250000
Iowa North | ftUS | 26975 3417 2794 3425 3536 3537 6462 6463 | lcc 41°30' -93°30' 1500000 1000000 43°16' 42°4'
Iowa South | ftUS | 26976 3418 2795 3426 3538 3539 6464 6465 | lcc 40 -93°30' 500000 0 41°47' 40°37'
Kansas North | ftUS | 26977 3419 2796 3427 3540 3541 6466 6467 | lcc 38°20' -98 400000 0 39°47' 38°43'
Kansas South | ftUS | 26978 3420 2797 3428 3542 3543 6468 6469 | lcc 36°40' -98°30' 400000 400000 38°34' 37°16'
Kentucky North | ftUS | 2205 2246 2798 2891 3544 3545 6470 6471 | lcc 37°30' -84°15' 500000 0 37°58' 38°58'
Kentucky Single Zone | ftUS | 3088 3089 3090 3091 3546 3547 6472 6473 | lcc 36°20' -85°45' 1500000 1000000 37°5' 38°40'
Kentucky South | ftUS | 26980 2247 2799 2892 3548 3549 6474 6475 | lcc 36°20' -85°45' 500000 500000 37°56' 36°44'
Louisiana North | ftUS | 26981 3451 2800 3456 3550 3551 6476 6477 | lcc 30°30' -92°30' 1000000 0 32°40' 31°10'
Louisiana Offshore | ftUS | 32199 3453 0 0 0 0 0 0 | lcc 25°30' -91°20' 1000000 0 27°50' 26°10'
Louisiana South | ftUS | 26982 3452 2801 3457 3552 3553 6478 6479 | lcc 28°30' -91°20' 1000000 0 30°42' 29°18'
Maine East | ftUS | 26983 26847 2802 26855 3557 26863 6483 6484 | tm 43°40' -68°30' 0.9999 300000 0
Maine West | ftUS | 26984 26848 2803 26856 3558 26864 6485 6486 | tm 42°50' -70°10' 0.999966667 900000 0
Maryland | ftUS | 26985 2248 2804 2893 3559 3582 6487 6488 | lcc 37°40' -77 400000 0 39°27' 38°18'
Massachusetts Island | ftUS | 26987 2250 2806 2895 3583 3584 6489 6490 | lcc 41 -70°30' 500000 0 41°29' 41°17'
Massachusetts Mainland | ftUS | 26986 2249 2805 2894 3585 3586 6491 6492 | lcc 41 -71°30' 200000 750000 42°41' 41°43'
Michigan Central | ft | 26989 2252 2808 2897 3587 3588 6493 6494 | lcc 43°19' -84°22' 6000000 0 45°42' 44°11'
Michigan North | ft | 26988 2251 2807 2896 3589 3590 6495 6496 | lcc 44°47' -87 8000000 0 47°5' 45°29'
Michigan South | ft | 26990 2253 2809 2898 3592 3593 6498 6499 | lcc 41°30' -84°22' 4000000 0 43°40' 42°6'
Minnesota Central | ftUS | 26992 26850 2811 26858 3594 26866 6500 6501 | lcc 45 -94°15' 800000 100000 47°3' 45°37'
Minnesota North | ftUS | 26991 26849 2810 26857 3595 26865 6502 6503 | lcc 46°30' -93°6' 800000 100000 48°38' 47°2'
Minnesota South | ftUS | 26993 26851 2812 26859 3596 26867 6504 6505 | lcc 43 -94 800000 100000 45°13' 43°47'
Mississippi East | ftUS | 26994 2254 2813 2899 3597 3598 6506 6507 | tm 29°30' -88°50' 0.99995 300000 0
Mississippi West | ftUS | 26995 2255 2814 2900 3599 3600 6509 6510 | tm 29°30' -90°20' 0.99995 700000 0
Missouri Central | - | 26997 0 2816 0 3601 0 6511 0 | tm 35°50' -92°30' 0.999933333 500000 0
Missouri East | - | 26996 0 2815 0 3602 0 6512 0 | tm 35°50' -90°30' 0.999933333 250000 0
Missouri West | - | 26998 0 2817 0 3603 0 6513 0 | tm 36°10' -94°30' 0.999941177 850000 0
Montana | ft | 32100 2256 2818 2901 3604 3605 6514 6515 | lcc 44°15' -109°30' 600000 0 49 45
Nebraska | ftUS | 32104 26852 2819 26860 3606 26868 6516 6880 | lcc 39°50' -100 500000 0 43 40
Nevada Central | ftUS | 32108 3422 2821 3430 3607 3608 6518 6519 | tm 34°45' -116°40' 0.9999 500000 6000000
Nevada East | ftUS | 32107 3421 2820 3429 3609 3610 6520 6521 | tm 34°45' -115°35' 0.9999 200000 8000000
Nevada West | ftUS | 32109 3423 2822 3431 3611 3612 6522 6523 | tm 34°45' -118°35' 0.9999 800000 4000000
New Hampshire | ftUS | 32110 3437 2823 3445 3613 3614 6524 6525 | tm 42°30' -71°40' 0.999966667 300000 0
New Jersey | ftUS | 32111 3424 2824 3432 3615 3616 6526 6527 | tm 38°50' -74°30' 0.9999 150000 0
New Mexico Central | ftUS | 32113 2258 2826 2903 3617 3618 6528 6529 | tm 31 -106°15' 0.9999 500000 0
New Mexico East | ftUS | 32112 2257 2825 2902 3619 3620 6530 6531 | tm 31 -104°20' 0.999909091 165000 0
New Mexico West | ftUS | 32114 2259 2827 2904 3621 3622 6532 6533 | tm 31 -107°50' 0.999916667 830000 0
New York Central | ftUS | 32116 2261 2829 2906 3623 3624 6534 6535 | tm 40 -76°35' 0.9999375 250000 0
New York East | ftUS | 32115 2260 2828 2905 3625 3626 6536 6537 | tm 38°50' -74°30' 0.9999 150000 0
New York Long Island | ftUS | 32118 2263 2831 2908 3627 3628 6538 6539 | lcc 40°10' -74 300000 0 41°2' 40°40'
New York West | ftUS | 32117 2262 2830 2907 3629 3630 6540 6541 | tm 40 -78°35' 0.9999375 350000 0
North Carolina | ftUS | 32119 2264 3358 3404 3631 3632 6542 6543 | lcc 33°45' -79 609601.22 0 36°10' 34°20'
North Dakota North | ft | 32120 2265 2832 2909 3633 3634 6544 6545 | lcc 47 -100°30' 600000 0 48°44' 47°26'
North Dakota South | ft | 32121 2266 2833 2910 3635 3636 6546 6547 | lcc 45°40' -100°30' 600000 0 47°29' 46°11'
Ohio North | ftUS | 32122 3734 2834 3753 3637 3728 6548 6549 | lcc 39°40' -82°30' 600000 0 41°42' 40°26'
Ohio South | ftUS | 32123 3735 2835 3754 3638 3729 6550 6551 | lcc 38 -82°30' 600000 0 40°2' 38°44'
Oklahoma North | ftUS | 32124 2267 2836 2911 3639 3640 6552 6553 | lcc 35 -98 600000 0 36°46' 35°34'
Oklahoma South | ftUS | 32125 2268 2837 2912 3641 3642 6554 6555 | lcc 33°20' -98 600000 0 35°14' 33°56'
Oregon North | ft | 32126 2269 2838 2913 3645 3646 6558 6559 | lcc 43°40' -120°30' 2500000 0 46 44°20'
Oregon South | ft | 32127 2270 2839 2914 3647 3648 6560 6561 | lcc 41°40' -120°30' 1500000 0 44 42°20'
Pennsylvania North | ftUS | 32128 2271 3362 3363 3649 3650 6562 6563 | lcc 40°10' -77°45' 600000 0 41°57' 40°53'
Pennsylvania South | ftUS | 32129 2272 3364 3365 3651 3652 6564 6565 | lcc 39°20' -77°45' 600000 0 40°58' 39°56'
Puerto Rico and Virgin Is. | - | 32161 0 2866 0 4437 0 6566 0 | lcc 17°50' -66°26' 200000 200000 18°26' 18°2'
Rhode Island | ftUS | 32130 3438 2840 3446 3653 3654 6567 6568 | tm 41°5' -71°30' 0.99999375 100000 0
South Carolina | ft | 32133 2273 3360 3361 3655 3656 6569 6570 | lcc 31°50' -81 609600 0 34°50' 32°30'
South Dakota North | ftUS | 32134 4457 2841 3458 3657 3658 6571 6572 | lcc 43°50' -100 600000 0 45°41' 44°25'
South Dakota South | ftUS | 32135 3455 2842 3459 3659 3660 6573 6574 | lcc 42°20' -100°20' 600000 0 44°24' 42°50'
Tennessee | ftUS | 32136 2274 2843 2915 3661 3662 6575 6576 | lcc 34°20' -86 600000 0 36°25' 35°15'
Texas Central | ftUS | 32139 2277 2846 2918 3663 3664 6577 6578 | lcc 29°40' -100°20' 700000 3000000 31°53' 30°7'
Texas North | ftUS | 32137 2275 2844 2916 3667 3668 6581 6582 | lcc 34 -101°30' 200000 1000000 36°11' 34°39'
Texas North Central | ftUS | 32138 2276 2845 2917 3669 3670 6583 6584 | lcc 31°40' -98°30' 600000 2000000 33°58' 32°8'
Texas South | ftUS | 32141 2279 2848 2920 3671 3672 6585 6586 | lcc 25°40' -98°30' 300000 5000000 27°50' 26°10'
Texas South Central | ftUS | 32140 2278 2847 2919 3673 3674 6587 6588 | lcc 27°50' -99 600000 4000000 30°17' 28°23'
Utah Central | ftUS | 32143 3566 2850 3569 3675 3677 6619 6625 | lcc 38°20' -111°30' 500000 2000000 40°39' 39°1'
Utah Central | ft | 0 2281 0 2922 0 3676 0 0 | lcc 38°20' -111°30' 500000 2000000 40°39' 39°1'
Utah North | ftUS | 32142 3560 2849 3568 3678 3680 6620 6626 | lcc 40°20' -111°30' 500000 1000000 41°47' 40°43'
Utah North | ft | 0 2280 0 2921 0 3679 0 0 | lcc 40°20' -111°30' 500000 1000000 41°47' 40°43'
Utah South | ftUS | 32144 3567 2851 3570 3681 3683 6621 6627 | lcc 36°40' -111°30' 500000 3000000 38°21' 37°13'
Utah South | ft | 0 2282 0 2923 0 3682 0 0 | lcc 36°40' -111°30' 500000 3000000 38°21' 37°13'
Vermont | ftUS | 32145 5646 2852 5654 3684 5655 6589 6590 | tm 42°30' -72°30' 0.999964286 500000 0
Virginia North | ftUS | 32146 2283 2853 2924 3685 3686 6592 6593 | lcc 37°40' -78°30' 3500000 2000000 39°12' 38°2'
Virginia South | ftUS | 32147 2284 2854 2925 3687 3688 6594 6595 | lcc 36°20' -78°30' 3500000 1000000 37°58' 36°46'
Washington North | ftUS | 32148 2285 2855 2926 3689 3690 6596 6597 | lcc 47 -120°50' 500000 0 48°44' 47°30'
Washington South | ftUS | 32149 2286 2856 2927 3691 3692 6598 6599 | lcc 45°20' -120°30' 500000 0 47°20' 45°50'
West Virginia North | ftUS | 32150 26853 2857 26861 3693 26869 6600 6601 | lcc 38°30' -79°30' 600000 0 40°15' 39
West Virginia South | ftUS | 32151 26854 2858 26862 3694 26870 6602 6603 | lcc 37 -81 600000 0 38°53' 37°29'
Wisconsin Central | ftUS | 32153 2288 2860 2929 3695 3696 6879 6605 | lcc 43°50' -90 600000 0 45°30' 44°15'
Wisconsin North | ftUS | 32152 2287 2859 2928 3697 3698 6606 6607 | lcc 45°10' -90 600000 0 46°46' 45°34'
Wisconsin South | ftUS | 32154 2289 2861 2930 3699 3700 6608 6609 | lcc 42 -90 600000 0 44°4' 42°44'
Wyoming East | ftUS | 32155 3736 2862 3755 3702 3730 6611 6612 | tm 40°30' -105°10' 0.9999375 200000 0
Wyoming East Central | ftUS | 32156 3737 2863 3756 3703 3731 6613 6614 | tm 40°30' -107°20' 0.9999375 400000 100000
Wyoming West | ftUS | 32158 3739 2865 3758 3705 3733 6615 6616 | tm 40°30' -110°5' 0.9999375 800000 100000
Wyoming West Central | ftUS | 32157 3738 2864 3757 3704 3732 6617 6618 | tm 40°30' -108°45' 0.9999375 600000 0

# Grids of whole states and more, from the EPSG dataset.
Alaska Albers | - | 3338 0 0 0 3467 0 6393 0 | aea 50 -154 0 0 55 65
California Albers | - | 3310 0 3311 0 3488 0 6414 0 | aea 0 -120 0 -4000000 34 40.5
Conus Albers | - | 5070 0 5071 0 5072 0 6350 0 | aea 23 -96 0 0 29°30' 45°30'
Florida GDL Albers | - | 3086 0 3087 0 3513 0 6439 0 | aea 24 -84 400000 0 24 31°30'
Great Lakes Albers | - | 3174 0 0 0 0 0 0 0 | aea 45.568977 -84.455955 1000000 1000000 42.122774 49.01518
Great Lakes and St Lawrence Albers | - | 3175 0 0 0 0 0 0 0 | aea 45.568977 -83.248627 1000000 1000000 42.122774 49.01518
Idaho Transverse Mercator | - | 8826 0 0 0 0 0 0 0 | tm 42 -114 0.9996 2500000 1200000
Kansas LCC | ftUS | 6922 6923 0 0 0 0 6924 6925 | lcc 36 -98°15' 400000 0 39°30' 37°30'
Michigan Oblique Mercator | - | 3078 0 3079 0 3591 0 6497 0 | hotine 45°18.55' -86 0.9996 2546731.496 -4354009.816 337.25556
Oregon LCC | ft | 2991 2992 2993 2994 3643 3644 6556 6557 | lcc 41°45' -120°30' 400000 0 43 45°30'
Texas Centric Albers Equal Area | - | 3083 0 3085 0 3665 0 6579 0 | aea 18 -100 1500000 6000000 27°30' 35
Texas Centric Lambert Conformal | - | 3082 0 3084 0 3666 0 6580 0 | lcc 18 -100 1500000 5000000 27°30' 35
Texas State Mapping System | - | 3081 0 0 0 0 0 0 0 | lcc 31°10' -100 1000000 1000000 27°25' 34°55'
Virginia Lambert | - | 3968 0 3969 0 3970 0 6591 0 | lcc 36 -79.5 0 0 37 39.5
Wisconsin Transverse Mercator | - | 3070 0 3071 0 3701 0 6610 0 | tm 0 -90 0.9996 520000 -4480000
`
