//! Differential pressure of a filter, a housing or any fixed restriction against flow: ΔP = k₁ Q + k₂ Q².
//!
//! k₁ is the viscous part (in proportion to dynamic viscosity), k₂ the inertial one (to density). The same curve serves
//! for the tare, and the element is the assembly less the tare at the same flow and fluid (ISO 3968).

use super::HydraulicsError;
use crate::{
    quantity::si::{Pressure, Ratio, VolumeRate},
    trade::numeric::{a_number, zero_or_more},
};
use nalgebra::{DMatrix, DVector};
use uom::si::{pressure::pascal, ratio::ratio, volume_rate::cubic_meter_per_second};

/// One reading of a flow sweep.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    pub flow: VolumeRate,
    pub pressure: Pressure,
}

/// The terms a fit keeps. A home rig in oil is mostly laminar, and its k₂ may be lost in the noise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Terms {
    Viscous,
    ViscousInertial,
}

/// Whether a flow lies within those measured. Below the lowest the curve runs through zero, which needs no trust.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Covered {
    Measured,
    /// Above the highest flow measured, by so much.
    Above(VolumeRate),
}

/// A fitted curve of differential pressure against flow for one fluid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Restriction {
    /// Pa/(m³/s).
    pub(super) k1: f64,
    /// Pa/(m³/s)².
    pub(super) k2: f64,
    /// Variance of k₁, covariance, variance of k₂.
    pub(super) covariance: Option<[f64; 3]>,
    pub(super) highest_flow: f64,
    pub(super) scatter: Option<Pressure>,
    pub(super) degrees_of_freedom: usize,
}

impl Restriction {
    /// The least-squares curve through readings; no constant term, so take the zero of the gauge off first.
    ///
    /// QR decomposition of the flows scaled to the highest one. Covariance s² (XᵀX)⁻¹, s² the residual variance; `None`
    /// without degrees of freedom. Equal weights: right when the gauge's error is the same at every flow.
    ///
    /// Errors: fewer different flows above zero than coefficients. Source: common practice (viscous–inertial form);
    /// ordinary least squares.
    pub fn fit(readings: &[Reading], terms: Terms) -> Result<Self, HydraulicsError> {
        let mut flows = Vec::with_capacity(readings.len());
        let mut pressures = Vec::with_capacity(readings.len());
        for reading in readings {
            flows.push(zero_or_more("a flow (m³/s)", reading.flow.get::<cubic_meter_per_second>())?);
            pressures.push(a_number("a differential pressure (Pa)", reading.pressure.get::<pascal>())?);
        }
        let needed = match terms {
            Terms::Viscous => 1,
            Terms::ViscousInertial => 2,
        };
        let mut different: Vec<f64> = flows.iter().copied().filter(|flow| *flow > 0.0).collect();
        different.sort_by(f64::total_cmp);
        different.dedup_by(|a, b| (*a - *b).abs() <= 1e-6 * *b);
        let too_few = HydraulicsError::TooFewReadings { given: different.len(), needed };
        let Some(highest_flow) = different.last().copied().filter(|_| different.len() >= needed) else {
            return Err(too_few);
        };
        let design = DMatrix::from_iterator(
            flows.len(),
            needed,
            (1..=needed as i32).flat_map(|power| flows.iter().map(move |flow| (flow / highest_flow).powi(power))),
        );
        let measured = DVector::from_vec(pressures);
        let qr = design.clone().qr();
        let Some(scaled) = qr.r().solve_upper_triangular(&(qr.q().transpose() * &measured)) else {
            return Err(too_few);
        };
        let residual = (&measured - &design * &scaled).norm_squared();
        let freedom = flows.len() - needed;
        let variance = (freedom > 0).then(|| residual / freedom as f64);
        let inverse = qr.r().try_inverse();
        let covariance = variance.zip(inverse).map(|(s2, inverse)| {
            let scaled = &inverse * inverse.transpose() * s2;
            let entry = |i: usize, j: usize| {
                scaled.get((i, j)).map_or(0.0, |value| value / highest_flow.powi(i as i32 + j as i32 + 2))
            };
            [entry(0, 0), entry(0, 1), entry(1, 1)]
        });
        let coefficient = |i: usize| scaled.get(i).map_or(0.0, |value| value / highest_flow.powi(i as i32 + 1));
        Ok(Self {
            k1: coefficient(0),
            k2: coefficient(1),
            covariance,
            highest_flow,
            scatter: variance.map(|s2| Pressure::new::<pascal>(s2.sqrt())),
            degrees_of_freedom: freedom,
        })
    }

    /// k₁ in Pa per m³/s.
    pub fn viscous_coefficient(&self) -> f64 {
        self.k1
    }

    /// k₂ in Pa per (m³/s)².
    pub fn inertial_coefficient(&self) -> f64 {
        self.k2
    }

    /// Variance of k₁, covariance of both, variance of k₂, in SI; `None` when the fit has no degrees of freedom.
    pub fn covariance(&self) -> Option<[f64; 3]> {
        self.covariance
    }

    /// Standard deviation of the readings about the curve.
    pub fn scatter(&self) -> Option<Pressure> {
        self.scatter
    }

    pub fn degrees_of_freedom(&self) -> usize {
        self.degrees_of_freedom
    }

    /// The differential pressure at a flow, and whether that flow was covered by readings. Domain: flow zero or more.
    pub fn pressure_at(&self, flow: VolumeRate) -> Result<(Pressure, Covered), HydraulicsError> {
        let q = zero_or_more("the flow (m³/s)", flow.get::<cubic_meter_per_second>())?;
        Ok((Pressure::new::<pascal>(self.k1 * q + self.k2 * q * q), self.covered(q)))
    }

    /// Standard uncertainty of the curve at a flow: u² = Q² v₁₁ + 2 Q³ v₁₂ + Q⁴ v₂₂, plus (dΔP/dQ u(Q))².
    ///
    /// `None` when the fit has no degrees of freedom. First order (JCGM 100).
    pub fn uncertainty_at(
        &self,
        flow: VolumeRate,
        flow_uncertainty: VolumeRate,
    ) -> Result<Option<Pressure>, HydraulicsError> {
        let q = zero_or_more("the flow (m³/s)", flow.get::<cubic_meter_per_second>())?;
        let u_q = zero_or_more("the uncertainty of the flow (m³/s)", flow_uncertainty.get::<cubic_meter_per_second>())?;
        let slope = self.k1 + 2.0 * self.k2 * q;
        Ok(self.covariance.map(|[v11, v12, v22]| {
            let curve = q * q * (v11 + 2.0 * q * v12 + q * q * v22);
            Pressure::new::<pascal>((curve.max(0.0) + (slope * u_q).powi(2)).sqrt())
        }))
    }

    /// The viscous share of the differential pressure at a flow: k₁ Q/ΔP. Errors: a coefficient below zero.
    pub fn viscous_share(&self, flow: VolumeRate) -> Result<Ratio, HydraulicsError> {
        self.physical()?;
        let q = zero_or_more("the flow (m³/s)", flow.get::<cubic_meter_per_second>())?;
        Ok(Ratio::new::<ratio>(self.k1 / (self.k1 + self.k2 * q)))
    }

    /// The flow at which the curve reaches a pressure, such as the setting of a by-pass valve (the knee of the curve):
    /// Q = 2 ΔP/(k₁ + √(k₁² + 4 k₂ ΔP)).
    ///
    /// Domain: pressure zero or more. Errors: a coefficient below zero. Source: the fitted form, solved.
    pub fn flow_at(&self, pressure: Pressure) -> Result<(VolumeRate, Covered), HydraulicsError> {
        self.physical()?;
        let p = zero_or_more("the pressure (Pa)", pressure.get::<pascal>())?;
        let root = (self.k1 * self.k1 + 4.0 * self.k2 * p).sqrt();
        let q = if p == 0.0 { 0.0 } else { 2.0 * p / (self.k1 + root) };
        Ok((VolumeRate::new::<cubic_meter_per_second>(q), self.covered(q)))
    }

    /// Standard uncertainty of [`Self::flow_at`], from that of the curve there and that of the pressure:
    /// u² = (u²(curve) + u²(ΔP))/(k₁ + 2 k₂ Q)².
    ///
    /// `None` when the fit has no degrees of freedom. First order (JCGM 100).
    pub fn flow_uncertainty_at(
        &self,
        pressure: Pressure,
        pressure_uncertainty: Pressure,
    ) -> Result<Option<VolumeRate>, HydraulicsError> {
        let (flow, _) = self.flow_at(pressure)?;
        let u_p = zero_or_more("the uncertainty of the pressure (Pa)", pressure_uncertainty.get::<pascal>())?;
        let slope = self.k1 + 2.0 * self.k2 * flow.get::<cubic_meter_per_second>();
        let Some(curve) = self.uncertainty_at(flow, VolumeRate::default())? else { return Ok(None) };
        let u = a_number("the uncertainty of the flow (m³/s)", curve.get::<pascal>().hypot(u_p) / slope)?;
        Ok(Some(VolumeRate::new::<cubic_meter_per_second>(u)))
    }

    /// The element alone: this assembly less the tare, both with the same fluid, coefficient by coefficient.
    ///
    /// Covariances add (independent sweeps). Source: ISO 3968 (element = assembly − housing at the same flow).
    pub fn less(&self, tare: &Self) -> Self {
        let sum = |[a, b, c]: [f64; 3], [d, e, f]: [f64; 3]| [a + d, b + e, c + f];
        Self {
            k1: self.k1 - tare.k1,
            k2: self.k2 - tare.k2,
            covariance: self.covariance.zip(tare.covariance).map(|(own, tare)| sum(own, tare)),
            highest_flow: self.highest_flow.min(tare.highest_flow),
            scatter: self
                .scatter
                .zip(tare.scatter)
                .map(|(own, tare)| Pressure::new::<pascal>(own.get::<pascal>().hypot(tare.get::<pascal>()))),
            degrees_of_freedom: self.degrees_of_freedom.min(tare.degrees_of_freedom),
        }
    }

    /// Refuses a curve that no passive restriction can have.
    pub(super) fn physical(&self) -> Result<(), HydraulicsError> {
        for (which, value) in [("viscous", self.k1), ("inertial", self.k2)] {
            if value < 0.0 {
                return Err(HydraulicsError::NotPhysical { which, value });
            }
        }
        if self.k1 == 0.0 && self.k2 == 0.0 {
            return Err(HydraulicsError::NotPhysical { which: "viscous", value: 0.0 });
        }
        Ok(())
    }

    fn covered(&self, q: f64) -> Covered {
        if q > self.highest_flow * (1.0 + 1e-9) {
            Covered::Above(VolumeRate::new::<cubic_meter_per_second>(q - self.highest_flow))
        } else {
            Covered::Measured
        }
    }
}
