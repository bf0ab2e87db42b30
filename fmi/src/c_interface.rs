//! The functions of FMI 3.0 (sections 2.2 and 4.2) as C sees them.
//!
//! Each looks at its pointers, calls [`Instance`], and turns what comes of it into a status. No panic crosses into
//! C: it is caught, told to the log, and the unit counts as broken. What a unit of this kind doesn't offer - other
//! types than numbers and switches, states that are stored, derivatives, clocks, events - answers with an error.
#![allow(unsafe_code)]

use crate::instance::{Instance, Told};
use std::ffi::{CStr, CString, c_char, c_void};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::ptr;

/// `fmi3Status`.
pub type Status = i32;
/// `fmi3OK`.
pub const OK: Status = 0;
/// `fmi3Error`.
pub const ERROR: Status = 3;
/// `fmi3Fatal`.
pub const FATAL: Status = 4;

type Environment = *mut c_void;
type Log = Option<unsafe extern "C" fn(Environment, Status, *const c_char, *const c_char)>;

/// A unit and whom it tells what goes wrong.
pub struct Unit {
    instance: Instance,
    logger: Logger,
    broken: bool,
}

#[derive(Clone, Copy)]
struct Logger {
    environment: Environment,
    log: Log,
}

impl Logger {
    fn tell(self, status: Status, words: &str) {
        let words = CString::new(words.replace('\0', " ")).unwrap_or_default();
        if let Some(log) = self.log {
            // SAFETY: the importer gave function and environment for this, and both strings end with a zero.
            unsafe {
                log(
                    self.environment,
                    status,
                    c"logStatusError".as_ptr(),
                    words.as_ptr(),
                )
            }
        }
    }
}

/// What a panic said.
fn panicked(payload: &(dyn std::any::Any + Send)) -> String {
    let text = payload.downcast_ref::<&str>().map(|s| (*s).to_owned());
    let text = text.or_else(|| payload.downcast_ref::<String>().cloned());
    format!(
        "this is a mistake in dogdays: {}",
        text.unwrap_or_else(|| "it panicked".to_owned())
    )
}

/// Does something with a unit; an error or a panic ends in its log and in a status.
fn with(unit: *mut Unit, call: impl FnOnce(&mut Instance) -> Told<()>) -> Status {
    // SAFETY: null, or a unit that `fmi3InstantiateCoSimulation` made and nobody has freed; FMI 3.0 forbids calling
    // one instance from two threads at once.
    let Some(unit) = (unsafe { unit.as_mut() }) else {
        return ERROR;
    };
    if unit.broken {
        unit.logger
            .tell(FATAL, "the unit is broken: free it and make a new one");
        return FATAL;
    }
    match catch_unwind(AssertUnwindSafe(|| call(&mut unit.instance))) {
        Ok(Ok(())) => OK,
        Ok(Err(words)) => {
            unit.logger.tell(ERROR, &words);
            ERROR
        }
        Err(payload) => {
            unit.broken = true;
            unit.logger.tell(FATAL, &panicked(&*payload));
            FATAL
        }
    }
}

/// A slice as C gives it.
///
/// # Safety
/// Null with a length of 0, or so many values.
unsafe fn slice<'a, T>(from: *const T, count: usize) -> Told<&'a [T]> {
    if count == 0 {
        return Ok(&[]);
    }
    if from.is_null() {
        return Err("a null pointer where values should be".to_owned());
    }
    // SAFETY: as the caller says.
    Ok(unsafe { std::slice::from_raw_parts(from, count) })
}

/// The same to write to.
///
/// # Safety
/// As for [`slice`], and nobody else uses them meanwhile.
unsafe fn slice_mut<'a, T>(from: *mut T, count: usize) -> Told<&'a mut [T]> {
    if count == 0 {
        return Ok(&mut []);
    }
    if from.is_null() {
        return Err("a null pointer where values should go".to_owned());
    }
    // SAFETY: as the caller says.
    Ok(unsafe { std::slice::from_raw_parts_mut(from, count) })
}

fn as_many(references: usize, values: usize) -> Told<()> {
    if references == values {
        return Ok(());
    }
    Err(format!(
        "{references} value references and {values} values: every variable here is a single value"
    ))
}

/// A text of C's.
///
/// # Safety
/// Null, or ends with a zero.
unsafe fn text(from: *const c_char) -> String {
    if from.is_null() {
        return String::new();
    }
    // SAFETY: as the caller says.
    unsafe { CStr::from_ptr(from) }
        .to_string_lossy()
        .into_owned()
}

/// Sets what an importer wants to know, if it wants to.
///
/// # Safety
/// Null, or a place for a value.
unsafe fn put<T>(to: *mut T, value: T) {
    if !to.is_null() {
        // SAFETY: as the caller says.
        unsafe { to.write(value) }
    }
}

/// The version of the standard.
#[unsafe(no_mangle)]
pub extern "C" fn fmi3GetVersion() -> *const c_char {
    c"3.0".as_ptr()
}

/// Errors are always told; there is nothing else to log.
#[unsafe(no_mangle)]
pub extern "C" fn fmi3SetDebugLogging(
    unit: *mut Unit,
    _on: bool,
    _n: usize,
    _categories: *const *const c_char,
) -> Status {
    with(unit, |_| Ok(()))
}

/// Makes a unit of the run in its resources; null if that fails.
///
/// # Safety
/// As FMI 3.0 says: texts end with a zero.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi3InstantiateCoSimulation(
    _name: *const c_char,
    token: *const c_char,
    resources: *const c_char,
    _visible: bool,
    _logging: bool,
    _event_mode: bool,
    _early_return: bool,
    _intermediate: *const u32,
    n_intermediate: usize,
    environment: Environment,
    log: Log,
    _update: *const c_void,
) -> *mut Unit {
    let logger = Logger { environment, log };
    let made = catch_unwind(AssertUnwindSafe(|| {
        if n_intermediate > 0 {
            return Err("no variable can be had between communication points".to_owned());
        }
        // SAFETY: as the caller says.
        let (token, resources) = unsafe { (text(token), text(resources)) };
        Instance::new(&PathBuf::from(resources), &token)
    }));
    match made {
        Ok(Ok(instance)) => Box::into_raw(Box::new(Unit {
            instance,
            logger,
            broken: false,
        })),
        Ok(Err(words)) => {
            logger.tell(ERROR, &words);
            ptr::null_mut()
        }
        Err(payload) => {
            logger.tell(FATAL, &panicked(&*payload));
            ptr::null_mut()
        }
    }
}

/// Not offered: null.
#[unsafe(no_mangle)]
pub extern "C" fn fmi3InstantiateModelExchange(
    _: *const c_char,
    _: *const c_char,
    _: *const c_char,
    _: bool,
    _: bool,
    environment: Environment,
    log: Log,
) -> *mut Unit {
    Logger { environment, log }.tell(ERROR, "this unit is for co-simulation only");
    ptr::null_mut()
}

/// Not offered: null.
#[unsafe(no_mangle)]
pub extern "C" fn fmi3InstantiateScheduledExecution(
    _: *const c_char,
    _: *const c_char,
    _: *const c_char,
    _: bool,
    _: bool,
    environment: Environment,
    log: Log,
    _: *const c_void,
    _: *const c_void,
    _: *const c_void,
) -> *mut Unit {
    Logger { environment, log }.tell(ERROR, "this unit is for co-simulation only");
    ptr::null_mut()
}

/// Frees a unit; nothing for null.
///
/// # Safety
/// A unit that was made here, once.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi3FreeInstance(unit: *mut Unit) {
    if !unit.is_null() {
        // SAFETY: as the caller says.
        let unit = unsafe { Box::from_raw(unit) };
        let _ = catch_unwind(AssertUnwindSafe(|| drop(unit)));
    }
}

/// Begins initialisation.
#[unsafe(no_mangle)]
pub extern "C" fn fmi3EnterInitializationMode(
    unit: *mut Unit,
    _tolerance_defined: bool,
    _tolerance: f64,
    start_s: f64,
    _stop_defined: bool,
    _stop_s: f64,
) -> Status {
    with(unit, |i| i.enter_initialization(start_s))
}

/// Ends initialisation: the run is integrated here.
#[unsafe(no_mangle)]
pub extern "C" fn fmi3ExitInitializationMode(unit: *mut Unit) -> Status {
    with(unit, Instance::exit_initialization)
}

/// Ends the simulation.
#[unsafe(no_mangle)]
pub extern "C" fn fmi3Terminate(unit: *mut Unit) -> Status {
    with(unit, Instance::terminate)
}

/// Back to where the unit was made.
#[unsafe(no_mangle)]
pub extern "C" fn fmi3Reset(unit: *mut Unit) -> Status {
    with(unit, |i| {
        i.reset();
        Ok(())
    })
}

/// Numbers.
///
/// # Safety
/// As many references and values as said.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi3GetFloat64(
    unit: *mut Unit,
    references: *const u32,
    n: usize,
    values: *mut f64,
    n_values: usize,
) -> Status {
    with(unit, |i| {
        as_many(n, n_values)?;
        // SAFETY: as the caller says.
        let (references, values) = unsafe { (slice(references, n)?, slice_mut(values, n)?) };
        references
            .iter()
            .zip(values)
            .try_for_each(|(r, v)| i.number(*r).map(|x| *v = x))
    })
}

/// Numbers to be set.
///
/// # Safety
/// As many references and values as said.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi3SetFloat64(
    unit: *mut Unit,
    references: *const u32,
    n: usize,
    values: *const f64,
    n_values: usize,
) -> Status {
    with(unit, |i| {
        as_many(n, n_values)?;
        // SAFETY: as the caller says.
        let (references, values) = unsafe { (slice(references, n)?, slice(values, n)?) };
        references
            .iter()
            .zip(values)
            .try_for_each(|(r, v)| i.set_number(*r, *v))
    })
}

/// Switches.
///
/// # Safety
/// As many references and values as said.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi3GetBoolean(
    unit: *mut Unit,
    references: *const u32,
    n: usize,
    values: *mut bool,
    n_values: usize,
) -> Status {
    with(unit, |i| {
        as_many(n, n_values)?;
        // SAFETY: as the caller says.
        let (references, values) = unsafe { (slice(references, n)?, slice_mut(values, n)?) };
        references
            .iter()
            .zip(values)
            .try_for_each(|(r, v)| i.switch(*r).map(|x| *v = x))
    })
}

/// Switches to be set.
///
/// # Safety
/// As many references and values as said.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi3SetBoolean(
    unit: *mut Unit,
    references: *const u32,
    n: usize,
    values: *const bool,
    n_values: usize,
) -> Status {
    with(unit, |i| {
        as_many(n, n_values)?;
        // SAFETY: as the caller says. Any byte but 0 counts as true, whatever C put there.
        let (references, values) =
            unsafe { (slice(references, n)?, slice(values.cast::<u8>(), n)?) };
        references
            .iter()
            .zip(values)
            .try_for_each(|(r, v)| i.set_switch(*r, *v != 0))
    })
}

/// One step.
///
/// # Safety
/// Places for the results, or null.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi3DoStep(
    unit: *mut Unit,
    from_s: f64,
    length_s: f64,
    _no_set_state: bool,
    event_needed: *mut bool,
    terminate: *mut bool,
    early_return: *mut bool,
    last_successful_s: *mut f64,
) -> Status {
    // SAFETY: as the caller says.
    unsafe {
        put(event_needed, false);
        put(terminate, false);
        put(early_return, false);
        put(last_successful_s, from_s);
    }
    with(unit, |i| {
        let ends_s = i.step(from_s, length_s)?;
        // SAFETY: as the caller says.
        unsafe { put(last_successful_s, ends_s) };
        Ok(())
    })
}

/// What this kind of unit doesn't offer: nothing is asked for, or it is an error.
macro_rules! not_offered {
    ($($name:ident($($argument:ty),*);)*) => {
        $(
            /// Not offered.
            #[unsafe(no_mangle)]
            pub extern "C" fn $name(unit: *mut Unit $(, _: $argument)*) -> Status {
                with(unit, |_| Err(concat!(stringify!($name), " is not offered by this unit").to_owned()))
            }
        )*
    };
}

type In<T> = *const T;
type Out<T> = *mut T;

not_offered! {
    fmi3EnterEventMode();
    fmi3EnterConfigurationMode();
    fmi3ExitConfigurationMode();
    fmi3EnterStepMode();
    fmi3GetFloat32(In<u32>, usize, Out<f32>, usize);
    fmi3GetInt8(In<u32>, usize, Out<i8>, usize);
    fmi3GetUInt8(In<u32>, usize, Out<u8>, usize);
    fmi3GetInt16(In<u32>, usize, Out<i16>, usize);
    fmi3GetUInt16(In<u32>, usize, Out<u16>, usize);
    fmi3GetInt32(In<u32>, usize, Out<i32>, usize);
    fmi3GetUInt32(In<u32>, usize, Out<u32>, usize);
    fmi3GetInt64(In<u32>, usize, Out<i64>, usize);
    fmi3GetUInt64(In<u32>, usize, Out<u64>, usize);
    fmi3GetString(In<u32>, usize, Out<*const c_char>, usize);
    fmi3GetBinary(In<u32>, usize, Out<usize>, Out<*const u8>, usize);
    fmi3GetClock(In<u32>, usize, Out<bool>);
    fmi3SetFloat32(In<u32>, usize, In<f32>, usize);
    fmi3SetInt8(In<u32>, usize, In<i8>, usize);
    fmi3SetUInt8(In<u32>, usize, In<u8>, usize);
    fmi3SetInt16(In<u32>, usize, In<i16>, usize);
    fmi3SetUInt16(In<u32>, usize, In<u16>, usize);
    fmi3SetInt32(In<u32>, usize, In<i32>, usize);
    fmi3SetUInt32(In<u32>, usize, In<u32>, usize);
    fmi3SetInt64(In<u32>, usize, In<i64>, usize);
    fmi3SetUInt64(In<u32>, usize, In<u64>, usize);
    fmi3SetString(In<u32>, usize, In<*const c_char>, usize);
    fmi3SetBinary(In<u32>, usize, In<usize>, In<*const u8>, usize);
    fmi3SetClock(In<u32>, usize, In<bool>);
    fmi3GetNumberOfVariableDependencies(u32, Out<usize>);
    fmi3GetVariableDependencies(u32, Out<usize>, Out<u32>, Out<usize>, Out<i32>, usize);
    fmi3GetFMUState(Out<*mut c_void>);
    fmi3SetFMUState(*mut c_void);
    fmi3FreeFMUState(Out<*mut c_void>);
    fmi3SerializedFMUStateSize(*mut c_void, Out<usize>);
    fmi3SerializeFMUState(*mut c_void, Out<u8>, usize);
    fmi3DeserializeFMUState(In<u8>, usize, Out<*mut c_void>);
    fmi3GetDirectionalDerivative(In<u32>, usize, In<u32>, usize, In<f64>, usize, Out<f64>, usize);
    fmi3GetAdjointDerivative(In<u32>, usize, In<u32>, usize, In<f64>, usize, Out<f64>, usize);
    fmi3GetIntervalDecimal(In<u32>, usize, Out<f64>, Out<i32>);
    fmi3GetIntervalFraction(In<u32>, usize, Out<u64>, Out<u64>, Out<i32>);
    fmi3GetShiftDecimal(In<u32>, usize, Out<f64>);
    fmi3GetShiftFraction(In<u32>, usize, Out<u64>, Out<u64>);
    fmi3SetIntervalDecimal(In<u32>, usize, In<f64>);
    fmi3SetIntervalFraction(In<u32>, usize, In<u64>, In<u64>);
    fmi3SetShiftDecimal(In<u32>, usize, In<f64>);
    fmi3SetShiftFraction(In<u32>, usize, In<u64>, In<u64>);
    fmi3EvaluateDiscreteStates();
    fmi3UpdateDiscreteStates(Out<bool>, Out<bool>, Out<bool>, Out<bool>, Out<bool>, Out<f64>);
    fmi3EnterContinuousTimeMode();
    fmi3CompletedIntegratorStep(bool, Out<bool>, Out<bool>);
    fmi3SetTime(f64);
    fmi3SetContinuousStates(In<f64>, usize);
    fmi3GetContinuousStateDerivatives(Out<f64>, usize);
    fmi3GetEventIndicators(Out<f64>, usize);
    fmi3GetContinuousStates(Out<f64>, usize);
    fmi3GetNominalsOfContinuousStates(Out<f64>, usize);
    fmi3GetNumberOfEventIndicators(Out<usize>);
    fmi3GetNumberOfContinuousStates(Out<usize>);
    fmi3GetOutputDerivatives(In<u32>, usize, In<i32>, Out<f64>, usize);
    fmi3ActivateModelPartition(u32, f64);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::variables;
    use dogdays::{Chamber, runfile};
    use std::sync::Mutex;

    static SAID: Mutex<Vec<(Status, String)>> = Mutex::new(Vec::new());

    unsafe extern "C" fn hear(
        _: Environment,
        status: Status,
        _: *const c_char,
        words: *const c_char,
    ) {
        // SAFETY: the unit gives a text.
        SAID.lock().unwrap().push((status, unsafe { text(words) }));
    }

    /// A panic inside ends in the log and in a status, and the unit takes no more calls.
    #[test]
    fn no_panic_gets_out() {
        let dir = std::env::temp_dir().join(format!("dogdays-fmu-{}", std::process::id()));
        std::fs::create_dir_all(&dir).unwrap();
        let run = "run = { start = \"2026-07-13 07:00\", duration = \"6 h\" }\nmachine.name = \"bench-60\"\n\
                   material.name = \"petg\"\npart.mass = \"120 g\"\nroom.temperature = \"24 degC\"\n";
        std::fs::write(dir.join(crate::RUN_FILE), run).unwrap();
        let loaded = runfile::load(&dir.join(crate::RUN_FILE), None).unwrap();
        let token = variables::token(&variables::of(&Chamber::new(&loaded.run).unwrap()));
        let (token, folder) = (
            CString::new(token).unwrap(),
            CString::new(dir.to_str().unwrap()).unwrap(),
        );
        let make = |token: &CStr| {
            // SAFETY: both texts outlive the call.
            unsafe {
                fmi3InstantiateCoSimulation(
                    ptr::null(),
                    token.as_ptr(),
                    folder.as_ptr(),
                    false,
                    false,
                    false,
                    false,
                    ptr::null(),
                    0,
                    ptr::null_mut(),
                    Some(hear),
                    ptr::null(),
                )
            }
        };
        assert!(make(c"another").is_null());
        assert!(
            SAID.lock()
                .unwrap()
                .pop()
                .unwrap()
                .1
                .contains("make the unit anew")
        );
        let unit = make(&token);
        assert!(!unit.is_null());
        assert_eq!(with(unit, |_| panic!("on purpose")), FATAL);
        let (status, words) = SAID.lock().unwrap().pop().unwrap();
        assert_eq!(status, FATAL);
        assert!(words.contains("on purpose"), "{words}");
        assert_eq!(fmi3Reset(unit), FATAL);
        assert_eq!(fmi3Reset(ptr::null_mut()), ERROR);
        // SAFETY: made above, freed once.
        unsafe { fmi3FreeInstance(unit) };
        std::fs::remove_dir_all(&dir).unwrap();
    }
}
