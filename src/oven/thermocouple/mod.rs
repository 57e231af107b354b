//! Sensors: what a thermocouple or a platinum resistance gives at a temperature, and back; how far each may be off.

mod calibration;
mod function;
mod mixup;
mod models;
mod over;
mod resistance;
mod tolerance;

pub use calibration::{SENSOR_CORRECTION, SensorCalibration};
pub use function::{PublishedInverse, ReferenceFunction, Thermocouple};
pub use mixup::{SensorExplanation, WRONG_TYPE, WrongTypeOver, explain_sensor, wrong_type_temperature};
pub use models::{THERMOCOUPLES, TOLERANCE};
pub use over::{EmfOver, SeebeckOver, TemperatureOver};
pub use resistance::{
    Construction, PT100, PT100_TOLERANCE, Pt100Class, RESISTANCE_OVER, RESISTANCE_TEMPERATURE_OVER,
    pt100_resistance_ohm, pt100_temperature,
};
pub use tolerance::{ToleranceClass, ToleranceStandard};
