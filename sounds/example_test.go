package sounds_test

import (
	"bytes"
	"fmt"

	"taillamp/sounds"
)

// A box with three neighbours: two voices are left to the program, one was chosen by the layout.
func ExampleAssign() {
	shelf := []sounds.Instrument{
		{Box: "OS", Hears: "UL"},
		{Box: "OS", Hears: "QU", Wish: "tube"},
		{Box: "OS", Hears: "TO"},
	}
	for i, name := range sounds.Assign(shelf, false) {
		voice, _ := sounds.FindVoice(name)
		fmt.Printf("%s hears %s by the %s, a %s\n", shelf[i].Box, shelf[i].Hears, name, voice.Body)
	}
	// Output:
	// OS hears UL by the dome, a bell
	// OS hears QU by the tube, a tube
	// OS hears TO by the coil, a gong
}

func ExampleWriteWAV() {
	cow, _ := sounds.FindVoice("cow")
	var file bytes.Buffer
	if err := sounds.WriteWAV(&file, sounds.Rate, cow.Stroke(sounds.Rate, 1)); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(file.Len(), "bytes,", cow.Long())
	// Output:
	// 36044 bytes, 375ms
}
