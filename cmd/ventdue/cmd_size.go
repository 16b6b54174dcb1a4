package main

import (
	"errors"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ventdue/cmd/ventdue/size"
	"ventdue/desk/intake"
	"ventdue/desk/wording"
	"ventdue/vent"
	"ventdue/vent/airflow"
)

// sizeColumns are the import columns that are flags of the command, under the same names.
var sizeColumns = []string{
	"duct_length", "duct_diameter", "duct_material", "elbows_90", "elbows_45", "elbow_kind", "outlet", "transition_length", "transition_material",
	"roof_outlet", "uninsulated", "concealed", "edition", "fuel", "dryer_class", "max_static", "lint_carry",
	"loads_per_week", "unit_kind", "bedrooms", "people", "pets",
}

// sizeFlags are a run as the command line says it.
type sizeFlags struct {
	columns map[string]*string
	units   vent.UnitSystem
	today   vent.Date
	policy  policyFlags
	asJSON  bool

	freeAir, shutoff, exhaust, altitude string
	outletK                             float64
}

func (a *app) sizeCmd() *cobra.Command {
	f := sizeFlags{columns: map[string]*string{}}
	c := &cobra.Command{
		Use:   "size",
		Short: "Size one run: code length, air, pressure, first due date, what a change would do",
		Long: `Size one vent run, built or only planned, and say what one change would do. No data file is needed.

Flags are the import columns by their names. A figure may carry its unit ("25 ft", "7.6 m"); a plain number is in the
system of --units. What is not said is the usual: 4 in smooth metal, mitred elbows, a flapper outlet, an electric
full-size dryer with the usual blower of its class, 283 loads a year.

A date is advice, not a permit to wait. Local codes and the maker's instructions come first.`,
		Example: `  ventdue size --duct-length "25 ft" --elbows-90 2 --loads-per-week 5
  ventdue size --units si --duct-length 9 --duct-material foil_flex --elbows-90 3 --fuel gas --json`,
		Args: exactly(),
		RunE: func(c *cobra.Command, _ []string) error { return a.size(c, f) },
	}
	s := c.Flags()
	s.SetNormalizeFunc(func(_ *pflag.FlagSet, name string) pflag.NormalizedName {
		return pflag.NormalizedName(strings.ReplaceAll(name, "_", "-"))
	})
	for _, x := range intake.Columns() {
		for _, name := range sizeColumns {
			if x.Name != name {
				continue
			}
			text := new(string)
			f.columns[name] = text
			s.StringVar(text, name, "", x.Meaning+choicesOf(x))
			if x.Form() == "yes or no" {
				s.Lookup(name).NoOptDefVal = "yes"
			}
		}
	}
	s.StringVar(&f.freeAir, "blower-free-air", "", `flow of the dryer's own blower with nothing connected, "200 cfm"; with --blower-shutoff`)
	s.StringVar(&f.shutoff, "blower-shutoff", "", `its static pressure with the outlet closed, "1.1 in w.c."`)
	s.Float64Var(&f.outletK, "outlet-k", 0, "measured loss coefficient of the outlet (default: the usual of its kind)")
	s.StringVar(&f.exhaust, "exhaust-temp", "", `temperature of the exhaust (default "140 F")`)
	s.StringVar(&f.altitude, "altitude", "", `height above the sea, "1600 m"`)
	dateFlag(c, &f.today, "today", "day on which the run is new and clean (default today)")
	unitsFlag(c, &f.units)
	f.policy.add(c)
	s.BoolVar(&f.asJSON, "json", false, "write JSON, in SI units")
	return c
}

func choicesOf(c intake.Column) string {
	if c.Choices() == nil {
		return ""
	}
	return " (" + strings.Join(c.Choices(), ", ") + ")"
}

func (a *app) size(c *cobra.Command, f sizeFlags) error {
	if err := checkUnits(f.units); err != nil {
		return err
	}
	asked, err := f.asked(c)
	if err != nil {
		return err
	}
	if asked.Policy, err = f.policy.settled(c); err != nil {
		return err
	}
	if asked.Today == 0 {
		asked.Today = vent.DateOf(a.now())
	}
	r, err := size.Compute(asked)
	if err != nil {
		return err
	}
	if f.asJSON {
		return printJSON(a.Out, r)
	}
	return r.Print(a.Out, asked, wording.For("", f.units))
}

// asked makes the run of what the flags say. What cannot be read is wrong use and names its flag.
func (f sizeFlags) asked(c *cobra.Command) (a size.Asked, err error) {
	d := intake.Draft{}
	d.Dryer = vent.Appliance{Kind: vent.Dryer, Fuel: vent.Electric}
	for _, name := range sizeColumns {
		flag := strings.ReplaceAll(name, "_", "-")
		if !c.Flags().Changed(flag) {
			continue
		}
		cell, err := intake.ReadCell(name, *f.columns[name], f.units)
		if err != nil {
			return a, usage("--%s %q: %w", flag, *f.columns[name], err)
		}
		d.Fill([]intake.Cell{cell})
	}
	if !d.Route.Length.Given {
		return a, usage(`--duct-length is missing: the straight duct, without elbows and without the transition, such as "25 ft"`)
	}
	if d.Dryer.Fuel == vent.Ventless {
		return a, usage("--fuel ventless: a ventless dryer has no exhaust run")
	}
	duct, problems := d.Route.Onto(nil)
	for _, x := range problems {
		return a, usage("--%s: %s: %s", strings.ReplaceAll(x.Column, "_", "-"), x.What, x.Remedy)
	}
	if err := f.details(&d.Dryer, duct); err != nil {
		return a, err
	}
	if err := f.valid(d, duct); err != nil {
		return a, err
	}
	a = size.Asked{Version: d.Version, Dryer: d.Dryer, Unit: d.Unit, Today: f.today}
	a.Version.Route = duct
	if a.Unit.Kind == "" {
		a.Unit.Kind = vent.House
	}
	if d.Loads.Given {
		a.Use = []vent.Use{{LoadsPerWeek: d.Loads.Value, Source: vent.UseTold}}
	}
	return a, nil
}

// details reads what no import column says.
func (f sizeFlags) details(dryer *vent.Appliance, duct *airflow.Duct) (err error) {
	read := func(flag, text string, parse func(string) (float64, error), into func(float64)) {
		if text == "" || err != nil {
			return
		}
		v, bad := parse(text)
		if bad != nil {
			err = usage("--%s: %w", flag, bad)
			return
		}
		into(v)
	}
	var b airflow.Blower
	read("blower-free-air", f.freeAir, in(airflow.ParseFlow), func(v float64) { b.FreeAir = airflow.CubicMetersPerSecond(v) })
	read("blower-shutoff", f.shutoff, in(airflow.ParsePressure), func(v float64) { b.Shutoff = airflow.Pascals(v) })
	read("exhaust-temp", f.exhaust, in(airflow.ParseTemperature), func(v float64) { duct.ExhaustTemperature = airflow.Celsius(v) })
	read("altitude", f.altitude, in(airflow.ParseLength), func(v float64) { duct.Altitude = airflow.Meters(v) })
	if err == nil && (f.freeAir == "") != (f.shutoff == "") {
		err = usage("--blower-free-air and --blower-shutoff belong together: give both points of the curve")
	}
	if f.freeAir != "" {
		dryer.Blower = &b
	}
	duct.Outlet.K = f.outletK
	return err
}

// valid checks the figures as a whole.
func (f sizeFlags) valid(d intake.Draft, duct *airflow.Duct) error {
	if err := duct.Validate(); err != nil {
		var first *airflow.FieldError
		if errors.As(err, &first) {
			return usage("--%s: %s: %s", flagOf(first.Field), first.Problem, first.Remedy)
		}
		return usage("the duct: %w", err)
	}
	if err := d.Dryer.Valid().Err(); err != nil {
		return usage("the dryer: %w", err)
	}
	return nil
}

// flagOf gives the flag that says a field of the duct.
func flagOf(field string) string {
	switch field {
	case "outlet.k":
		return "outlet-k"
	case "exhaust_temperature":
		return "exhaust-temp"
	case "altitude":
		return "altitude"
	}
	return strings.ReplaceAll(intake.DuctColumn(field), "_", "-")
}
