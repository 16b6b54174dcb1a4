package airflow_test

import (
	"fmt"

	"ventdue/vent/airflow"
)

// A 35 ft run behind an invented blower; the figures were computed
// independently from Darcy-Weisbach, Colebrook and the blower's two points.
func ExampleSystem_At() {
	duct := airflow.Duct{
		Sections: []airflow.Section{{
			Material: airflow.SmoothMetal, Length: airflow.Feet(35), Diameter: airflow.Inches(4),
		}},
		Outlet:             airflow.Outlet{Kind: airflow.OutletFlapper, K: 1},
		ExhaustTemperature: 21,
	}
	blower := airflow.Blower{FreeAir: airflow.CFM(225), Shutoff: airflow.InchesWater(1)}

	run, err := airflow.NewSystem(duct, blower)
	if err != nil {
		fmt.Println(err)
		return
	}
	clean, err := run.At(0)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f cfm, %.2f in w.c.\n", clean.Flow.CFM(), clean.Static.InchesWater())

	speed, err := airflow.ParseSpeed("900 fpm")
	if err != nil {
		fmt.Println(err)
		return
	}
	lint, err := run.LintFromSpeed(speed, 0)
	fmt.Println(lint > 0.1 && lint < 0.3, err)
	// Output:
	// 144 cfm, 0.59 in w.c.
	// true <nil>
}
