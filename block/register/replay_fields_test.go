package register

import (
	"reflect"
	"testing"
	"time"

	"taillamp/block"
)

// Whatever field a change has, now or after the next addition to it, a difference in it is noticed.
func TestNoFieldOfAnOutcomeIsOverlooked(t *testing.T) {
	everyField(t, reflect.TypeFor[block.Outcome](), func(o reflect.Value) block.Outcome { return o.Interface().(block.Outcome) })
	everyField(t, reflect.TypeFor[block.Ring](), func(r reflect.Value) block.Outcome {
		return block.Outcome{Rings: []block.Ring{r.Interface().(block.Ring)}}
	})
	everyField(t, reflect.TypeFor[block.Irregularity](), func(i reflect.Value) block.Outcome {
		return block.Outcome{Irregular: []block.Irregularity{i.Interface().(block.Irregularity)}}
	})
	change := reflect.TypeFor[block.Change]()
	for n := range change.NumField() {
		everyField(t, change.Field(n).Type.Elem(), func(c reflect.Value) block.Outcome {
			whole := reflect.New(change).Elem()
			whole.Field(n).Set(reflect.New(c.Type()))
			whole.Field(n).Elem().Set(c)
			return block.Outcome{Changes: []block.Change{whole.Interface().(block.Change)}}
		})
	}
	for n := range change.NumField() {
		whole := reflect.New(change).Elem()
		whole.Field(n).Set(reflect.New(change.Field(n).Type.Elem()))
		one := block.Outcome{Changes: []block.Change{whole.Interface().(block.Change)}}
		if none := (block.Outcome{Changes: []block.Change{{}}}); sameOutcome(one, none) || sameOutcome(none, one) {
			t.Errorf("a change of %s is overlooked", change.Field(n).Name)
		}
	}
}

// everyField alters one field after another and looks whether the outcome is still taken for the same.
func everyField(t *testing.T, kind reflect.Type, outcome func(reflect.Value) block.Outcome) {
	t.Helper()
	plain := reflect.New(kind).Elem()
	if !sameOutcome(outcome(plain), outcome(plain)) {
		t.Errorf("%s differs from itself", kind)
	}
	for n := range kind.NumField() {
		altered := reflect.New(kind).Elem()
		fill(t, altered.Field(n))
		if sameOutcome(outcome(plain), outcome(altered)) {
			t.Errorf("%s.%s is overlooked", kind, kind.Field(n).Name)
		}
	}
}

// fill gives a field something else than nothing.
func fill(t *testing.T, v reflect.Value) {
	t.Helper()
	if _, ok := v.Interface().(time.Time); ok {
		v.Set(reflect.ValueOf(time.Unix(1, 0)))
		return
	}
	switch v.Kind() {
	case reflect.String:
		v.SetString("x")
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int:
		v.SetInt(1)
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 1, 1))
	default:
		t.Fatalf("a field of type %s: say here how it is filled", v.Type())
	}
}
