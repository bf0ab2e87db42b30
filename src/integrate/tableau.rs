//! Coefficients of the Rosenbrock method RODAS4: six stages, order 4 with an embedded method of
//! order 3, L-stable and stiffly accurate, dense output of order 3.
//!
//! Source: E. Hairer and G. Wanner, Solving Ordinary Differential Equations II, 2nd edition
//! (Springer 1996), section IV.7, and the authors' code of the same name. The form is theirs for
//! transformed stages: with `W = I/(h gamma) - J`,
//! `W u_i = f(t + c_i h, y + sum_j a_ij u_j) + sum_j (g_ij / h) u_j + h d_i df/dt`,
//! `y1 = y + sum a_6j u_j + u_6`, error estimate `u_6`.

/// Stages.
pub const STAGES: usize = 6;
/// Diagonal.
pub const GAMMA: f64 = 0.25;
/// Stage arguments: row `i` weighs the stages before `i`.
pub const A: [[f64; 5]; STAGES] = [
    [0.0; 5],
    [1.544, 0.0, 0.0, 0.0, 0.0],
    [
        0.946_678_528_081_582_6,
        0.255_701_169_898_328_4,
        0.0,
        0.0,
        0.0,
    ],
    [
        3.314_825_187_068_521,
        2.896_124_015_972_201,
        0.998_641_913_997_781_7,
        0.0,
        0.0,
    ],
    [
        1.221_224_509_226_641,
        6.019_134_481_288_629,
        12.537_083_329_320_87,
        -0.687_886_036_105_895,
        0.0,
    ],
    [
        1.221_224_509_226_641,
        6.019_134_481_288_629,
        12.537_083_329_320_87,
        -0.687_886_036_105_895,
        1.0,
    ],
];
/// Coupling of stages.
pub const G: [[f64; 5]; STAGES] = [
    [0.0; 5],
    [-5.6688, 0.0, 0.0, 0.0, 0.0],
    [
        -2.430_093_356_833_875,
        -0.206_359_915_709_191_5,
        0.0,
        0.0,
        0.0,
    ],
    [
        -0.107_352_905_815_137_5,
        -9.594_562_251_023_355,
        -20.470_286_148_096_16,
        0.0,
        0.0,
    ],
    [
        7.496_443_313_967_647,
        -10.246_804_314_643_52,
        -33.999_903_528_199_05,
        11.708_908_932_061_6,
        0.0,
    ],
    [
        8.083_246_795_921_522,
        -7.981_132_988_064_893,
        -31.521_594_328_743_71,
        16.319_305_431_231_36,
        -6.058_818_238_834_054,
    ],
];
/// Stage times.
pub const C: [f64; STAGES] = [0.0, 0.386, 0.21, 0.63, 1.0, 1.0];
/// Weights of df/dt.
pub const D: [f64; STAGES] = [0.25, -0.1043, 0.1035, -0.036_200_000_000_000_23, 0.0, 0.0];
/// Dense output: `k1 = sum H[0][j] u_j`, `k2 = sum H[1][j] u_j`.
pub const H: [[f64; 5]; 2] = [
    [
        10.126_235_083_445_86,
        -7.487_995_877_610_167,
        -34.800_918_615_557_47,
        -7.992_771_707_568_823,
        1.025_137_723_295_662,
    ],
    [
        -0.676_280_339_280_125_3,
        6.087_714_651_680_015,
        16.430_843_208_924_78,
        24.767_225_114_183_86,
        -6.594_389_125_716_872,
    ],
];
