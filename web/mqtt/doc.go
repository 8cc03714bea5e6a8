// Package mqtt lets real instruments on the layout work a signal box: a bell, a plunger, a needle, a lever, a detector,
// each with a small computer that speaks MQTT 3.1.1 (OASIS standard, 2014). An instrument works a seat like a tablet, by
// the same acts, and beside the tablet; what it may not do, it is told.
//
// What an instrument says and hears stands in topics.md, and that page is all that who builds one needs to know.
package mqtt
