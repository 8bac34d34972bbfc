package assess_test

import (
	"bytes"
	"compress/gzip"
	"encoding"
	"reflect"
	"testing"

	"github.com/fxamacker/cbor/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/assess"
	"lapwing/coverage/assess/assesstest"
)

// An assessment that is written and read back says the same, and products on one
// map still lie on one.
func TestEncodeReadsBack(t *testing.T) {
	for name, a := range map[string]*assess.Assessment{
		"quarter": assesstest.Quarter(), "empty": assesstest.Empty(), "asked": assesstest.Asked(), "laps": do(t, loaded(t), assess.Options{}),
	} {
		a.Zone = nil // a made-up one has no name to be found by
		var stored, first, second bytes.Buffer
		require.NoError(t, a.Encode(&stored), name)
		back, err := assess.Decode(&stored)
		require.NoError(t, err, name)
		require.NoError(t, a.WriteSummary(&first), name)
		require.NoError(t, back.WriteSummary(&second), name)
		assert.Equal(t, first.String(), second.String(), name)
		for i := range a.Accounts {
			assert.Equal(t, a.Accounts[i].Map == a.Map, back.Accounts[i].Map == back.Map, "%s: map of product %d", name, i)
		}
		assert.NotNil(t, a.Map, "writing it changed it")
	}
}

func TestDecodeRefuses(t *testing.T) {
	var good bytes.Buffer
	require.NoError(t, assesstest.Empty().Encode(&good))
	packed := func(v map[string]any) []byte {
		if _, given := v["Assessment"]; !given {
			v["Assessment"] = map[string]any{"Accounts": nil}
		}
		var b bytes.Buffer
		w := gzip.NewWriter(&b)
		require.NoError(t, cbor.NewEncoder(w).Encode(v))
		require.NoError(t, w.Close())
		return b.Bytes()
	}
	for want, in := range map[string][]byte{
		"EOF":            nil,
		"invalid header": []byte("lapwing/stored-assessment/5"),
		"unexpected EOF": good.Bytes()[:good.Len()/2],
		`found schema "lapwing/stored-assessment/3", want "lapwing/stored-assessment/5"`: packed(map[string]any{"Schema": "lapwing/stored-assessment/3"}),
		"found no figures":                packed(map[string]any{"Schema": "lapwing/stored-assessment/5", "Assessment": map[string]any{}}),
		"found 0 places on maps, want 1":  packed(map[string]any{"Schema": "lapwing/stored-assessment/5"}),
		"found map 3, want one below 0":   packed(map[string]any{"Schema": "lapwing/stored-assessment/5", "Lies": []int{3}}),
		"found no map":                    packed(map[string]any{"Schema": "lapwing/stored-assessment/5", "Lies": []int{-1}}),
		"unknown time zone Fen/Tern Bank": packed(map[string]any{"Schema": "lapwing/stored-assessment/5", "Zone": "Fen/Tern Bank"}),
	} {
		_, err := assess.Decode(bytes.NewReader(in))
		assert.ErrorContains(t, err, want)
	}
}

// All of an assessment can be written: no field is hidden from the encoder, none
// holds a thing without a shape, and no name of an embedded struct hides another.
func TestNothingOfAnAssessmentIsHidden(t *testing.T) {
	seen := map[reflect.Type]bool{}
	var walk func(at string, typ reflect.Type)
	walk = func(at string, typ reflect.Type) {
		if seen[typ] {
			return
		}
		seen[typ] = true
		switch typ.Kind() {
		case reflect.Pointer, reflect.Slice, reflect.Array:
			walk(at, typ.Elem())
		case reflect.Map:
			walk(at, typ.Key())
			walk(at, typ.Elem())
		case reflect.Interface, reflect.Func, reflect.Chan, reflect.UnsafePointer:
			t.Errorf("%s: %v has no shape that could be read back", at, typ)
		case reflect.Struct:
			if reflect.PointerTo(typ).Implements(reflect.TypeFor[encoding.BinaryUnmarshaler]()) {
				return // it writes itself
			}
			for _, f := range reflect.VisibleFields(typ) {
				switch {
				case !f.IsExported():
					t.Errorf("%s.%s is hidden from the encoder", at, f.Name)
				case len(f.Index) == 1:
					walk(at+"."+f.Name, f.Type)
				}
			}
			names := map[string]int{}
			countNames(names, typ)
			for name, n := range names {
				assert.Equal(t, 1, n, "fields named %s.%s", at, name)
			}
		}
	}
	assessment := reflect.TypeFor[assess.Assessment]()
	zone, _ := assessment.FieldByName("Zone")
	seen[zone.Type] = true // written by its name
	walk("Assessment", assessment)
	assert.True(t, seen[reflect.TypeFor[coverage.Map]()])
}

// countNames counts the names of all fields of a struct and of those embedded in it.
func countNames(names map[string]int, typ reflect.Type) {
	if typ.Kind() == reflect.Pointer {
		typ = typ.Elem()
	}
	for i := range typ.NumField() {
		if f := typ.Field(i); f.Anonymous {
			countNames(names, f.Type)
		} else {
			names[f.Name]++
		}
	}
}
