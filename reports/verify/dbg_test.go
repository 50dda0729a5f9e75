package verify_test
import ("testing";"context";"wedgework/reports/verify";"fmt")
func TestDbg(t *testing.T){
 for _,k:=range []int{0,45,70} { p:=plant(k); r,err:=verify.Run(context.Background(),p.spec(t,4)); if err!=nil {t.Fatal(err)}
 fmt.Println(k,p)
 for _,e:=range r.Diagnosis.Explanations { fmt.Printf("  %-80s chi %.1f dof %d aicc %.1f conv %v", e.Label,e.ChiSquared,e.DOF,e.AICc,e.Converged); for _,f:=range e.Parameters {fmt.Printf(" %s=%.4f±%.4f",f.Path,f.Value,f.Sigma)}; fmt.Println() } }
}
