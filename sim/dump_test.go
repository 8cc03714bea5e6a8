package sim_test
import ("testing";"fmt";"os";"strconv";"taillamp/block";"taillamp/block/review";"taillamp/sim")
func TestDump(t *testing.T){
 n,_:=strconv.Atoi(os.Getenv("S")); if n==0 {return}
 r,_:=block.Embedded("lathermoor"); boxes := []block.BoxID{"OS", "UL", "QU", "TO", "SK", "HX"}
 all := work(t, r, sim.Options{Seed: uint64(n), Begins: evening, Box: map[block.BoxID]sim.Temper{boxes[n%6]: sim.Forgetful}})
 for _,e:=range all { ev:=e.Event; c:=ev.At.Format("15:04"); if c<os.Getenv("A")||c>os.Getenv("B") {continue}
  s:=fmt.Sprintf("%s %s %s %s%s %v %s %s %s %s",ev.At.Format("15:04:05.0"),ev.By,ev.Do,ev.Circuit,ev.Section,ev.Beats,ev.Show,ev.Where,ev.Lamp,ev.Train)
  for _,c:=range e.Outcome.Changes { if c.Signal!=nil { s+=fmt.Sprintf(" [%s %s %s %s]",c.Signal.Section,c.Signal.Key,c.Signal.Sense,c.Signal.Did)}}
  fmt.Println(s)}
 for f,_:=range review.Of(r,seq(all)) { fmt.Println(f.Rule,f.Box,f.At.Format("15:04:05"),f.Severity,f.Section)}
}
