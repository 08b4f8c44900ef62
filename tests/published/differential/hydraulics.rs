//! Lines, openings, heat and restrictions.

use super::{
    super::si::{celsius, in_celsius, kelvins, kg_m3, kpa, l_min, litres, mm, mm2_s, pa_s, seconds},
    NONE, compare,
};
use loopleaf::{
    quantity::si::{
        Angle, HeatCapacity, Length, Power, Ratio, SpecificHeatCapacity, SurfaceTension, ThermalConductance, Velocity,
    },
    trade::hydraulics::{
        Bath, BathUncertainty, Covered, Explicit, Fluid, LineUncertainty, Pipe, Reading, Regime, Restriction, Share,
        Terms, bubble_diameter, bubble_pressure, cold_from_hot, cold_from_hot_uncertainty, colebrook,
        explicit_friction, friction_factor, hydrostatic_head, inlet_pressure, line_loss, line_loss_uncertainty,
        mean_velocity, minor_loss, net_bubble_pressure, normalised_bubble_pressure, orifice_flow, orifice_loss,
        pump_heating, pump_heating_uncertainty, reynolds, rise_per_pass, rise_per_pass_uncertainty,
    },
};
use uom::si::{
    angle::radian, heat_capacity::joule_per_kelvin, length::meter, power::watt, ratio::ratio,
    specific_heat_capacity::joule_per_kilogram_kelvin, surface_tension::newton_per_meter,
    thermal_conductance::watt_per_kelvin, velocity::meter_per_second,
};

fn part(x: f64) -> Ratio {
    Ratio::new::<ratio>(x)
}

fn metres(x: f64) -> Length {
    Length::new::<meter>(x)
}

#[test]
pub(super) fn lines() {
    compare("bore", 1e-12, 0.0, |x| {
        let (q, d) = (l_min(x[0]), mm(x[1]));
        vec![mean_velocity(q, d).unwrap().value, reynolds(q, d, mm2_s(x[2])).unwrap().value]
    });
    compare("friction", 1e-10, 0.0, |x| {
        let (re, rough) = (part(x[0]), part(x[1]));
        let explicit = |formula| explicit_friction(formula, re, rough).unwrap_or(NONE);
        let smooth = x[1] == 0.0 && x[0] <= 1e5;
        assert_eq!(friction_factor(re, rough).unwrap().highest, colebrook(re, rough).unwrap());
        vec![
            colebrook(re, rough).unwrap(),
            explicit(Explicit::Haaland),
            explicit(Explicit::SwameeJain),
            explicit(Explicit::Churchill),
            if smooth { explicit(Explicit::Blasius) } else { NONE },
        ]
    });
    compare("transitional", 1e-11, 0.0, |x| {
        let friction = friction_factor(part(x[0]), part(x[1])).unwrap();
        let pipe = Pipe { bore: mm(x[3]), length: metres(1.0), roughness: mm(x[3] * x[1]) };
        let loss = line_loss(&pipe, l_min(x[2]), mm2_s(x[4]), kg_m3(x[5])).unwrap();
        assert_eq!((friction.regime, loss.regime), (Regime::Transitional, Regime::Transitional));
        vec![friction.lowest, friction.highest, loss.lowest.value, loss.highest.value]
    });
    compare("minor loss", 1e-12, 0.0, |x| {
        vec![minor_loss(part(x[0]), kg_m3(x[1]), Velocity::new::<meter_per_second>(x[2])).unwrap().value]
    });
    compare("line loss uncertainty", 1e-9, 0.0, |x| {
        let pipe = Pipe { bore: mm(x[1]), length: metres(x[2]), roughness: metres(x[5]) };
        let of = LineUncertainty {
            flow: l_min(x[6]),
            bore: mm(x[7]),
            length: metres(x[8]),
            viscosity: mm2_s(x[9]),
            density: kg_m3(x[10]),
            roughness: metres(x[11]),
        };
        let (low, high) = line_loss_uncertainty(&pipe, l_min(x[0]), mm2_s(x[3]), kg_m3(x[4]), &of).unwrap();
        assert_eq!(low, high);
        vec![high.value]
    });
    compare("line loss uncertainty transitional", 1e-7, 0.0, |x| {
        let pipe = Pipe { bore: mm(x[1]), length: metres(x[2]), roughness: metres(0.0) };
        let of = LineUncertainty {
            flow: l_min(x[5]),
            bore: mm(x[6]),
            viscosity: mm2_s(x[8]),
            density: kg_m3(x[9]),
            length: metres(x[7]),
            ..LineUncertainty::default()
        };
        let (low, high) = line_loss_uncertainty(&pipe, l_min(x[0]), mm2_s(x[3]), kg_m3(x[4]), &of).unwrap();
        vec![low.value, high.value]
    });
}

#[test]
pub(super) fn openings() {
    compare("orifice", 1e-12, 0.0, |x| {
        let (c, d, rho) = (part(x[0]), mm(x[1]), kg_m3(x[3]));
        let flow = orifice_flow(c, d, kpa(x[2]), rho).unwrap();
        let loss = orifice_loss(c, d, flow, rho).unwrap().value / 1e3;
        let height = x[2] * 1e3 / (x[3] * 9.80665);
        let head = hydrostatic_head(metres(height), rho).unwrap().value / 1e3;
        vec![flow.value * 6e4, loss, head, height]
    });
    compare("bubble", 1e-10, 1.0, |x| {
        let (sigma, angle) = (SurfaceTension::new::<newton_per_meter>(x[1] / 1e3), Angle::new::<radian>(x[2].acos()));
        let net = bubble_pressure(mm(x[0] / 1e3), sigma, angle).unwrap();
        let reference = SurfaceTension::new::<newton_per_meter>(x[6] / 1e3);
        vec![
            net.value,
            bubble_diameter(net, sigma, angle).unwrap().value * 1e6,
            net_bubble_pressure(kpa(x[3]), mm(x[4]), kg_m3(x[5])).unwrap().value,
            normalised_bubble_pressure(kpa(x[3]), sigma, reference).unwrap().value,
        ]
    });
    compare("pump inlet", 1e-12, 0.0, |x| vec![inlet_pressure(kpa(x[0]), kpa(x[1]), kpa(x[2])).unwrap().value / 1e3]);
}

fn bath(x: &[f64]) -> Bath {
    let loss = ThermalConductance::new::<watt_per_kelvin>(x[2]);
    Bath::new(HeatCapacity::new::<joule_per_kelvin>(x[0]), Power::new::<watt>(x[1]), loss, celsius(x[3])).unwrap()
}

#[test]
pub(super) fn heat() {
    compare("pump", 1e-11, 0.0, |x| {
        let heat = |x| SpecificHeatCapacity::new::<joule_per_kilogram_kelvin>(x);
        let (p, q, rho, c) = (kpa(x[0]), l_min(x[1]), kg_m3(x[2]), heat(x[3]));
        let (p, q, rho, c) = ((p, kpa(x[5])), (q, l_min(x[6])), (rho, kg_m3(x[7])), (c, heat(x[8])));
        vec![
            pump_heating(p.0, q.0).unwrap().value,
            pump_heating_uncertainty(p, q).unwrap().value,
            rise_per_pass(p.0, rho.0, c.0).unwrap().value,
            rise_per_pass_uncertainty(p, rho, c).unwrap().value,
            Bath::capacity_of(litres(x[4]), rho.0, c.0).unwrap().value,
        ]
    });
    compare("bath", 1e-9, 1.0, |x| {
        let bath = bath(x);
        vec![
            bath.time_to_reach(celsius(x[4]), celsius(x[5])).unwrap().value,
            bath.settles_at().map_or(NONE, in_celsius),
            bath.time_constant().map_or(NONE, |time| time.value),
        ]
    });
    compare("bath uncertainty", 1e-9, 1e-3, |x| {
        let of = BathUncertainty {
            capacity: HeatCapacity::new::<joule_per_kelvin>(x[6]),
            heating: Power::new::<watt>(x[7]),
            loss: ThermalConductance::new::<watt_per_kelvin>(x[8]),
            room: kelvins(x[9]),
        };
        let bath = bath(x);
        let u = bath.temperature_uncertainty((celsius(x[4]), kelvins(x[10])), seconds(x[5]), &of).unwrap();
        vec![u.value, bath.time_constant_uncertainty(&of).unwrap().unwrap().value]
    });
}

fn readings(flows: &[f64], pressures: &[f64]) -> Vec<Reading> {
    flows.iter().zip(pressures).map(|(q, p)| Reading { flow: l_min(*q), pressure: kpa(*p) }).collect()
}

/// kPa per L/min and kPa per (L/min)² of SI.
const FIRST: f64 = 6e7;
const SECOND: f64 = 3.6e12;

#[test]
pub(super) fn restrictions() {
    let above = |covered| match covered {
        Covered::Measured => 0.0,
        Covered::Above(flow) => flow.value * 6e4,
    };
    compare("viscous fit", 1e-10, 0.0, |x| {
        let curve = Restriction::fit(&readings(&x[..6], &x[6..]), Terms::Viscous).unwrap();
        let [variance, ..] = curve.covariance().unwrap();
        vec![
            curve.viscous_coefficient() / FIRST,
            curve.scatter().unwrap().value / 1e3,
            variance / FIRST / FIRST,
            curve.degrees_of_freedom() as f64,
        ]
    });
    compare("sweep in use", 1e-10, 1e-9, |x| {
        let curve = Restriction::fit(&readings(&x[4..11], &x[11..]), Terms::ViscousInertial).unwrap();
        let (flow, pressure) = (l_min(x[0]), kpa(x[2]));
        let (read, over) = curve.pressure_at(flow).unwrap();
        let (knee, beyond) = curve.flow_at(pressure).unwrap();
        vec![
            read.value / 1e3,
            above(over),
            curve.uncertainty_at(flow, l_min(x[1])).unwrap().unwrap().value / 1e3,
            curve.viscous_share(flow).unwrap().value,
            knee.value * 6e4,
            above(beyond),
            curve.flow_uncertainty_at(pressure, kpa(x[3])).unwrap().unwrap().value * 6e4,
            curve.scatter().unwrap().value / 1e3,
        ]
    });
    compare("tare", 1e-9, 0.0, |x| {
        let fit = |q: &[f64], p: &[f64]| Restriction::fit(&readings(q, p), Terms::ViscousInertial).unwrap();
        let net = fit(&x[..6], &x[6..12]).less(&fit(&x[12..18], &x[18..]));
        let [v11, v12, v22] = net.covariance().unwrap();
        vec![
            net.viscous_coefficient() / FIRST,
            net.inertial_coefficient() / SECOND,
            v11 / FIRST / FIRST,
            v12 / FIRST / SECOND,
            v22 / SECOND / SECOND,
            net.scatter().unwrap().value / 1e3,
        ]
    });
    let fluid = |mu, rho| Fluid { viscosity: pa_s(mu), density: kg_m3(rho) };
    compare("another fluid", 1e-9, 0.0, |x| {
        let (from, to) = (fluid(x[0], x[1]), fluid(x[2], x[3]));
        let ends = cold_from_hot(kpa(x[4]), &from, &to, Share::Between(part(x[5]), part(x[6]))).unwrap();
        let open = cold_from_hot(kpa(x[4]), &from, &to, Share::Unknown).unwrap();
        let flows = [x[9] / 2.0, x[9]];
        let curve =
            Restriction::fit(&readings(&flows, &flows.map(|q| x[7] * q + x[8] * q * q)), Terms::ViscousInertial);
        let curve = curve.unwrap();
        let moved = curve.with_fluid(&from, &to).unwrap().pressure_at(l_min(x[9])).unwrap().0;
        let reading = Reading { flow: l_min(x[9]), pressure: kpa(x[4]) };
        let restated = curve.restate(reading, &from, &to).unwrap();
        [ends.lowest, ends.highest, open.lowest, open.highest, moved, restated].map(|p| p.value / 1e3).to_vec()
    });
    compare("another fluid uncertainty", 1e-10, 0.0, |x| {
        let (from, to) = (fluid(x[0], x[1]), fluid(x[2], x[3]));
        let (of_from, of_to) = (fluid(x[5], x[6]), fluid(x[7], x[8]));
        let shares = [Share::Known(part(x[10])), Share::Between(part(x[10]), part(x[11])), Share::Unknown];
        let both = shares.map(|share| {
            let pressure = (kpa(x[4]), kpa(x[9]));
            cold_from_hot_uncertainty(pressure, (&from, &of_from), (&to, &of_to), share).unwrap()
        });
        both.iter().flat_map(|(value, u)| [value.value / 1e3, u.value / 1e3]).collect()
    });
}
