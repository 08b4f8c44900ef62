//! Flow, differential pressure, heat and bubble point against what was published about them.

use super::{
    si::{celsius, kg_m3, kpa, l_min, litres, minutes, mm, mm2_s, pa_s},
    values::{Row, Values},
};
use loopleaf::{
    quantity::si::{Angle, Length, Power, Ratio, SurfaceTension, ThermalConductance, Velocity, VolumeRate},
    trade::hydraulics::{
        Bath, Explicit, Fluid, HydraulicsError, Pipe, Reading, Regime, Restriction, Share, Terms, bubble_diameter,
        bubble_pressure, cold_from_hot, colebrook, explicit_friction, friction_factor, hydrostatic_head,
        inlet_pressure, line_loss, mean_velocity, minor_loss, net_bubble_pressure, normalised_bubble_pressure,
        orifice_flow, orifice_loss, pump_heating, reynolds, rise_per_pass,
    },
};
use uom::si::{
    angle::radian, length::meter, power::watt, ratio::ratio, specific_heat_capacity::joule_per_kilogram_kelvin,
    surface_tension::newton_per_meter, thermal_conductance::watt_per_kelvin, velocity::meter_per_second,
};

fn metres(x: f64) -> Length {
    Length::new::<meter>(x)
}

fn tension(x: f64) -> SurfaceTension {
    SurfaceTension::new::<newton_per_meter>(x)
}

fn part(x: f64) -> Ratio {
    Ratio::new::<ratio>(x)
}

#[test]
pub(super) fn line_loss_and_friction() {
    let mut values = Values::physics("pipe flow");
    values.check("pipe-", |row| {
        let pipe = Pipe {
            bore: metres(row.input("D_m")),
            length: metres(row.input("L_m")),
            roughness: metres(row.input("eps_m")),
        };
        let (flow, nu) = (l_min(row.input("Q_L_min")), mm2_s(row.input("nu_mm2_s")));
        let loss = line_loss(&pipe, flow, nu, kg_m3(row.input("rho"))).unwrap();
        let friction = friction_factor(loss.reynolds, pipe.roughness / pipe.bore).unwrap();
        assert_ne!(loss.regime, Regime::Transitional);
        assert_eq!(loss.lowest, loss.highest);
        let velocity = mean_velocity(flow, pipe.bore).unwrap();
        vec![velocity.value, loss.reynolds.value, friction.highest, loss.highest.value / 1e3]
    });
    values.check("f-laminar-", |row| vec![friction_factor(part(row.input("Re")), part(0.0)).unwrap().highest]);
    values.check("f-colebrook-", |row| {
        let (re, rough) = (part(row.input("Re")), part(row.input("eD")));
        let explicit = |formula| explicit_friction(formula, re, rough).unwrap();
        let iterated = colebrook(re, rough).unwrap();
        vec![iterated, explicit(Explicit::Haaland), explicit(Explicit::SwameeJain), explicit(Explicit::Churchill)]
    });
    values.check("f-blasius-", |row| {
        vec![explicit_friction(Explicit::Blasius, part(row.input("Re")), part(0.0)).unwrap()]
    });
    let laminar = |row: &Row, rho| {
        let pipe = Pipe { bore: metres(row.input("D_m")), length: metres(row.input("L_m")), roughness: metres(0.0) };
        let flow = VolumeRate::new::<uom::si::volume_rate::cubic_meter_per_second>(row.input("Q_m3_s"));
        vec![line_loss(&pipe, flow, pa_s(row.input("mu_Pa_s")) / kg_m3(rho), kg_m3(rho)).unwrap().highest.value]
    };
    values.check("hagen-poiseuille", |row| laminar(row, 858.9));
    values.check("Re-practical", |row| {
        vec![reynolds(l_min(row.input("Q_L_min")), mm(row.input("D_mm")), mm2_s(row.input("nu_mm2_s"))).unwrap().value]
    });
    values.check("v-practical", |row| {
        vec![mean_velocity(l_min(row.input("Q_L_min")), mm(row.input("D_mm"))).unwrap().value]
    });
    values.check("minor-loss", |row| {
        let velocity = Velocity::new::<meter_per_second>(row.input("v"));
        vec![minor_loss(part(row.input("K")), kg_m3(row.input("rho")), velocity).unwrap().value]
    });
    values.check("orifice-free", |row| {
        let (c, d, rho) = (part(row.input("Cd")), metres(row.input("d_m")), kg_m3(row.input("rho")));
        let drop = kpa(row.input("dP_Pa") / 1e3);
        let flow = orifice_flow(c, d, drop, rho).unwrap();
        assert!(((orifice_loss(c, d, flow, rho).unwrap() / drop).value - 1.0).abs() < 1e-12);
        vec![flow.value * 60e3]
    });
    values.check("hydrostatic-head", |row| {
        vec![hydrostatic_head(metres(row.input("h_m")), kg_m3(row.input("rho"))).unwrap().value]
    });
    values.check("power-heating", |row| {
        vec![pump_heating(kpa(row.input("dP_kPa")), l_min(row.input("Q_L_min"))).unwrap().value / 1e3]
    });
    values.finish();
}

fn sweep(flows: &[f64], pressures: &[f64]) -> Restriction {
    let readings: Vec<_> =
        flows.iter().zip(pressures).map(|(q, p)| Reading { flow: l_min(*q), pressure: kpa(*p) }).collect();
    Restriction::fit(&readings, Terms::ViscousInertial).unwrap()
}

/// kPa per L/min and kPa per (L/min)², as published.
fn coefficients(curve: &Restriction) -> [f64; 2] {
    [curve.viscous_coefficient() / 6e7, curve.inertial_coefficient() / 3.6e12]
}

#[test]
pub(super) fn differential_pressure_against_flow() {
    let mut values = Values::physics("differential pressure");
    let ours = |name: &str| name.starts_with('k') || name.starts_with("se_") || name == "s" || name == "df";
    values.check_part("dp-fit", ours, |row| {
        let curve = sweep(&row.inputs("Q_L_min"), &row.inputs("dp_kPa"));
        let [v11, _, v22] = curve.covariance().unwrap();
        let [k1, k2] = coefficients(&curve);
        let s = curve.scatter().unwrap().value / 1e3;
        vec![k1, k2, v11.sqrt() / 6e7, v22.sqrt() / 3.6e12, s, curve.degrees_of_freedom() as f64]
    });
    values.check("dp-housing-subtraction", |row| {
        let flows = row.inputs("Q_L_min");
        let assembly = sweep(&flows, &row.inputs("assembly_kPa"));
        let element = assembly.less(&sweep(&flows, &row.inputs("housing_kPa")));
        let net = row.inputs("assembly_kPa").iter().zip(row.inputs("housing_kPa")).map(|(a, h)| a - h).collect();
        [net, coefficients(&element).to_vec()].concat()
    });
    values.check("dp-viscosity-transfer", |row| {
        let curve = sweep(&[10.0, 50.0], &[10.0, 50.0].map(|q| row.input("k1") * q + row.input("k2") * q * q));
        let fluid = |mu, rho| Fluid { viscosity: pa_s(row.input(mu)), density: kg_m3(row.input(rho)) };
        let moved = curve.with_fluid(&fluid("mu_from_Pa_s", "rho_from"), &fluid("mu_to_Pa_s", "rho_to")).unwrap();
        vec![moved.pressure_at(l_min(row.input("Q"))).unwrap().0.value / 1e3]
    });
    values.finish();
}

#[test]
pub(super) fn bubble_point() {
    let mut values = Values::physics("bubble point");
    values.check("bubble-pressure-", |row| {
        let (pore, sigma) = (metres(row.input("pore_um") * 1e-6), tension(row.input("sigma_N_m")));
        let angle = Angle::new::<radian>(row.input("cos_theta").acos());
        let pressure = bubble_pressure(pore, sigma, angle).unwrap();
        assert!(((bubble_diameter(pressure, sigma, angle).unwrap() / pore).value - 1.0).abs() < 1e-12);
        vec![pressure.value / 1e3]
    });
    values.check("bubble-head-correction", |row| {
        let (read, depth) = (kpa(row.input("p_read_kPa")), mm(row.input("immersion_mm")));
        vec![net_bubble_pressure(read, depth, kg_m3(row.input("rho"))).unwrap().value / 1e3]
    });
    values.check("bubble-normalise", |row| {
        let (own, reference) = (tension(row.input("sigma_mN_m") / 1e3), tension(row.input("sigma_std_mN_m") / 1e3));
        vec![normalised_bubble_pressure(kpa(row.input("p_kPa")), own, reference).unwrap().value / 1e3]
    });
    values.finish();
}

/// Worked numbers of the job description: 15 kPa hot becomes some 456 kPa cold with a viscous share of 60 %.
#[test]
fn a_cold_filter_is_predicted_with_both_ends_when_the_share_is_unknown() {
    let fluid = |nu: f64, rho: f64| Fluid { viscosity: mm2_s(nu) * kg_m3(rho), density: kg_m3(rho) };
    let (hot, cold) = (fluid(10.0, 830.0), fluid(500.0, 830.0));
    let known = cold_from_hot(kpa(15.0), &hot, &cold, Share::Known(part(0.6))).unwrap();
    assert!((known.lowest.value / 456e3 - 1.0).abs() < 1e-12 && known.lowest == known.highest);
    let unknown = cold_from_hot(kpa(15.0), &hot, &cold, Share::Unknown).unwrap();
    assert!((unknown.lowest.value / 382.5e3 - 1.0).abs() < 1e-12);
    assert!((unknown.highest.value / 750e3 - 1.0).abs() < 1e-12);
    assert!(cold_from_hot(kpa(15.0), &hot, &cold, Share::Known(part(1.1))).is_err());
}

#[test]
fn the_knee_of_the_bypass_and_the_uncertainty_of_the_curve() {
    let flows = [10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0];
    let curve = sweep(&flows, &[1.93, 4.22, 6.91, 9.86, 13.24, 16.77, 20.83, 25.08, 29.78, 34.76]);
    let (knee, _) = curve.flow_at(kpa(25.0)).unwrap();
    assert!((curve.pressure_at(knee).unwrap().0.value - 25e3).abs() < 1e-8);
    let u = |flow, u_flow| curve.uncertainty_at(l_min(flow), l_min(u_flow)).unwrap().unwrap().value;
    assert!(u(100.0, 0.0) < curve.scatter().unwrap().value);
    // 1 L/min of flow is worth k1 + 2 k2 Q = 0.516 kPa at 100 L/min.
    assert!((u(100.0, 1.0) / 516.0 - 1.0).abs() < 0.01);
    let falling = sweep(&[10.0, 20.0, 30.0], &[2.0, 3.5, 4.5]);
    assert!(matches!(falling.flow_at(kpa(3.0)), Err(HydraulicsError::NotPhysical { which: "inertial", .. })));
    let one = [Reading { flow: l_min(10.0), pressure: kpa(2.0) }; 3];
    assert!(matches!(Restriction::fit(&one, Terms::ViscousInertial), Err(HydraulicsError::TooFewReadings { .. })));
    let viscous = Restriction::fit(&one, Terms::Viscous).unwrap();
    assert!((viscous.viscous_share(l_min(5.0)).unwrap().value - 1.0).abs() < 1e-15);
}

/// Worked numbers of the job description: 0.29 K per pass at 500 kPa; 40 L by 40 K takes 2.75 MJ; suction losses.
#[test]
fn heat_and_suction_come_out_as_worked_by_hand() {
    let c = |x| loopleaf::quantity::si::SpecificHeatCapacity::new::<joule_per_kilogram_kelvin>(x);
    let rise = rise_per_pass(kpa(500.0), kg_m3(870.0), c(2000.0)).unwrap();
    assert!((rise.value - 0.287).abs() < 5e-4);
    let oil = Bath::capacity_of(litres(40.0), kg_m3(860.0), c(2000.0)).unwrap();
    assert!((oil.value * 40.0 - 2.752e6).abs() < 1.0);

    let bath = |heat, loss| {
        let room = celsius(20.0);
        Bath::new(oil, Power::new::<watt>(heat), ThermalConductance::new::<watt_per_kelvin>(loss), room).unwrap()
    };
    let straight = bath(2000.0, 0.0);
    let t = straight.time_to_reach(celsius(20.0), celsius(60.0)).unwrap();
    assert!((t.value - 1376.0).abs() < 1e-6 && straight.settles_at().is_none());
    let lossy = bath(2000.0, 20.0);
    let t = lossy.time_to_reach(celsius(20.0), celsius(60.0)).unwrap();
    assert!((lossy.temperature_after(celsius(20.0), t).unwrap().value - 333.15).abs() < 1e-9);
    assert!(matches!(lossy.time_to_reach(celsius(20.0), celsius(121.0)), Err(HydraulicsError::NeverReached { .. })));
    assert!(straight.time_to_reach(celsius(20.0), celsius(19.0)).is_err());
    assert!(lossy.temperature_after(celsius(50.0), minutes(1e9)).unwrap() == lossy.settles_at().unwrap());

    let suction = |bore| {
        let pipe = Pipe { bore: mm(bore), length: metres(1.0), roughness: metres(0.0) };
        line_loss(&pipe, l_min(20.0), mm2_s(500.0), kg_m3(870.0)).unwrap().highest
    };
    assert!((suction(25.0).value - 15e3).abs() < 200.0 && (suction(19.0).value - 45e3).abs() < 500.0);
    assert!(inlet_pressure(kpa(101.3), hydrostatic_head(metres(-0.3), kg_m3(870.0)).unwrap(), suction(19.0)).is_ok());
    assert!(inlet_pressure(kpa(101.3), kpa(0.0), kpa(120.0)).is_err());
}
