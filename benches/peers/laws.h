/* The laws of models/README.md as small functions of one face or opening each; generate.py writes the calls.
 * With TABLES, what depends on a film temperature alone is read from cubics that generate.py made of the very
 * functions here, as the program itself does it: a right-hand side several times faster. */
#include <math.h>

static inline double cubed(double x) { return x * x * x; }

static inline double step_of(double x) {
  x = x < 0.0 ? 0.0 : x > 1.0 ? 1.0 : x;
  return x * x * x * (10.0 + x * (6.0 * x - 15.0));
}

static inline double rounded_size(double x, double band) {
  double size = fabs(x), r = x / band;
  return size >= band ? size : band * (3.0 + r * r * (6.0 - r * r)) / 8.0;
}

static inline double onset(double x, double band) {
  double r = 2.0 * x / band;
  if (x <= 0.0) return 0.0;
  return x >= band ? x - 0.5 * band : 0.5 * band * cubed(r) * (4.0 - r) / 16.0;
}

static inline double density(double t) { return PRESSURE / (GAS * t); }
static inline double exact_viscosity(double t) { return 1.458e-6 * t * sqrt(t) / (t + 110.4); }
static inline double exact_conductivity(double t) {
  return 2.648151e-3 * t * sqrt(t) / (t + 245.4 * exp(-12.0 * M_LN10 / t));
}
static inline double exact_prandtl(double t) { return CP * exact_viscosity(t) / exact_conductivity(t); }
/* Sixth root of the Rayleigh number for each kelvin and cubic metre. */
static inline double exact_sixth_root(double t) {
  double nu = exact_viscosity(t) / density(t);
  return cbrt(sqrt(exact_prandtl(t) * GRAVITY / (t * nu * nu)));
}
static inline double exact_vertical(double t) {
  return 0.387 * pow(1.0 + pow(0.492 / exact_prandtl(t), 9.0 / 16.0), -8.0 / 27.0);
}
static inline double exact_cylinder(double t) {
  return 0.387 * pow(1.0 + pow(0.559 / exact_prandtl(t), 9.0 / 16.0), -8.0 / 27.0);
}
/* Cubes of what air that moves does alone: along a plate in W/m2K, across a cylinder as Nusselt number less 0.3. */
static inline double exact_along(double t, double speed, double length) {
  double re = speed * length * density(t) / exact_viscosity(t);
  return cubed(0.664 * sqrt(re) * cbrt(exact_prandtl(t)) * exact_conductivity(t) / length);
}
static inline double exact_across(double t, double speed, double length) {
  double re = speed * length * density(t) / exact_viscosity(t), pr = exact_prandtl(t);
  return cubed(0.62 * sqrt(re) * cbrt(pr) / sqrt(sqrt(1.0 + pow(0.4 / pr, 2.0 / 3.0))) *
               pow(1.0 + pow(re / 282000.0, 0.625), 0.8));
}

static inline double cubic(const double (*table)[4], double t) {
  double x = (t - TABLE_FROM) / TABLE_STEP;
  int k = (int)x;
  k = k < 0 ? 0 : k >= TABLE_ROWS ? TABLE_ROWS - 1 : k;
  const double *c = table[k];
  x -= k;
  return c[0] + x * (c[1] + x * (c[2] + x * c[3]));
}

#ifdef TABLES
#define FILM(number, exact) cubic(film_table[number], film)
#else
#define FILM(number, exact) (exact)
#endif

/* Nusselt numbers of air moved by warmth alone. */
static inline double vertical(double film, double warmer, double length) {
  double ra6 = FILM(1, exact_sixth_root(film)) * sqrt(length) * cbrt(sqrt(rounded_size(warmer, EQUAL)));
  double root = 0.825 + ra6 * FILM(2, exact_vertical(film));
  return root * root;
}
static inline double cylinder(double film, double warmer, double length) {
  double ra6 = FILM(1, exact_sixth_root(film)) * sqrt(length) * cbrt(sqrt(rounded_size(warmer, EQUAL)));
  double root = 0.6 + ra6 * FILM(3, exact_cylinder(film));
  return root * root;
}
static inline double plate(double film, double warmer, double length, double upwards) {
  double size = rounded_size(warmer, EQUAL), ra6 = FILM(1, exact_sixth_root(film)) * sqrt(length) * cbrt(sqrt(size));
  double share = step_of(0.5 * (upwards * warmer / EQUAL + 1.0)), value = 0.0;
  if (share > 0.0) {
    double ra = cubed(ra6 * ra6), steep;
    if (ra <= 5e6) steep = 0.0;
    else if (ra >= 2e7) steep = 1.0;
    else steep = step_of(log(ra / 5e6) / log(4.0));
    if (steep < 1.0) value += (1.0 - steep) * 0.54 * ra6 * sqrt(ra6);
    if (steep > 0.0) value += steep * 0.15 * ra6 * ra6;
    value *= share;
  }
  if (share < 1.0) value += (1.0 - share) * 0.52 * pow(ra6, 1.2);
  return value;
}
static inline double up(double film, double warmer, double length) { return plate(film, warmer, length, 1.0); }
static inline double down(double film, double warmer, double length) { return plate(film, warmer, length, -1.0); }

/* Conductivity over length; a plate in moving air; a cylinder in moving air: W/m2K. */
static inline double over(double film, double length) { return FILM(0, exact_conductivity(film)) / length; }
static inline double with_along(double natural, double forced_cubed) { return cbrt(forced_cubed + cubed(natural)); }
static inline double with_across(double natural, double forced_cubed) {
  return 0.3 + cbrt(forced_cubed + cubed(natural - 0.3));
}

/* The pressure at which as much air leaves as enters; Newton's method in a bracket, from the last answer. */
static inline double balance(int n, const double *excess, const double *factor, double fans, double *last) {
  double p = *last, low = -INFINITY, high = INFINITY;
  for (int turn = 0; turn < 100; turn++) {
    double total = fans, slope = 0.0;
    for (int k = 0; k < n; k++) {
      double dp = p + excess[k], square = dp * dp + ORIFICE * ORIFICE, q = factor[k] / sqrt(sqrt(square));
      total += q * dp;
      slope += q * (1.0 - 0.5 * dp * dp / square);
    }
    if (total > 0.0) high = p;
    else low = p;
    double move = -total / slope, next = p + move;
    if (next < low || next > high) next = 0.5 * (low + high);
    else if (fabs(move) < 1e-7 * ORIFICE) { p = next; break; }
    p = next;
  }
  /* Whatever an integrator tried, the next balance begins from a number. */
  *last = isfinite(p) ? p : 0.0;
  return p;
}
