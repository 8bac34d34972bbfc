//go:build !js

package assess

import (
	"encoding"
	"reflect"
)

// Rename makes of the assessment what [Do] would have made of the same files under other
// names: name gives each text that may tell of a file as it is then.
func (a *Assessment) Rename(name func(string) string) (err error) {
	r := renaming{name: name, worded: map[reflect.Type]bool{}, seen: map[any]bool{}}
	r.value(reflect.ValueOf(a).Elem())
	a.Run, err = a.run()
	return err
}

// A renaming walks through all texts there are: of files tell warnings, machines, and
// whatever will.
type renaming struct {
	name   func(string) string
	worded map[reflect.Type]bool // whether there may be a text in a value of a type
	seen   map[any]bool          // pointers
}

// hasText reports whether there may be a text in values of a type. What writes itself,
// as times and frames do, has none.
func (r *renaming) hasText(t reflect.Type) bool {
	if has, known := r.worded[t]; known {
		return has
	}
	r.worded[t] = false // unless something in it has: a type may hold itself
	switch t.Kind() {
	case reflect.String:
		r.worded[t] = true
	case reflect.Pointer, reflect.Slice, reflect.Array:
		r.worded[t] = r.hasText(t.Elem())
	case reflect.Map:
		r.worded[t] = r.hasText(t.Key()) || r.hasText(t.Elem())
	case reflect.Struct:
		if reflect.PointerTo(t).Implements(reflect.TypeFor[encoding.BinaryUnmarshaler]()) {
			break
		}
		for i := range t.NumField() {
			if f := t.Field(i); f.IsExported() && r.hasText(f.Type) {
				r.worded[t] = true
			}
		}
	}
	return r.worded[t]
}

func (r *renaming) value(v reflect.Value) {
	if !r.hasText(v.Type()) {
		return
	}
	switch v.Kind() {
	case reflect.String:
		v.SetString(r.name(v.String()))
	case reflect.Pointer:
		if !v.IsNil() && !r.seen[v.Interface()] {
			r.seen[v.Interface()] = true
			r.value(v.Elem())
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			r.value(v.Index(i))
		}
	case reflect.Map:
		for _, key := range v.MapKeys() {
			k, of := reflect.New(key.Type()).Elem(), reflect.New(v.Type().Elem()).Elem()
			k.Set(key)
			of.Set(v.MapIndex(key))
			r.value(k)
			r.value(of)
			v.SetMapIndex(key, reflect.Value{})
			v.SetMapIndex(k, of)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				r.value(v.Field(i))
			}
		}
	}
}
