// Package fleet shares sittings between several processes over an engine, NATS with JetStream. It is built with the tag
// fleet; the plain program has nothing of it.
//
// Each sitting is a stream, each batch of its record one message that holds the very lines of the file. What its safety
// rests on is the fence: a message is taken only next after the one that its writer saw last, so that a process that slept
// while another took its sitting over cannot write one entry. Who has which sitting is agreed in key-value buckets.
package fleet
