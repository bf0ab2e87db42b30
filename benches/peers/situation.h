/* What changes from start to start and from stretch to stretch, and the right-hand side that comes of it. */
#include <string.h>

enum { OFF, HOLD, FULL };
static double capacity[N], begin, share, growth;
static int configuration, mode[HEATERS], cursor, rows;
static const double *weather_s, *weather_K;
long evaluations;

void describe(const double *capacities, double reference_K, int count, const double *times_s, const double *temperatures_K) {
  memcpy(capacity, capacities, sizeof capacity);
  reference = reference_K;
  rows = count;
  weather_s = times_s;
  weather_K = temperatures_K;
  cursor = 0;
}

void stretch(int k, double begin_s, double part_share, double growth_per_s) {
  configuration = k;
  begin = begin_s;
  share = part_share;
  growth = growth_per_s;
}

void set_mode(int k, int what) { mode[k] = what; }
int get_mode(int k) { return mode[k]; }
int heater_count(void) { return heaters[configuration]; }

static double outside(double t) {
  while (cursor > 0 && t < weather_s[cursor]) cursor--;
  while (cursor < rows - 2 && t >= weather_s[cursor + 1]) cursor++;
  double x = (t - weather_s[cursor]) / (weather_s[cursor + 1] - weather_s[cursor]);
  x = x < 0.0 ? 0.0 : x > 1.0 ? 1.0 : x;
  return weather_K[cursor] + x * (weather_K[cursor + 1] - weather_K[cursor]);
}

/* Gains but for heaters; the part's stored heat takes in what is laid down at the nozzle's heat. */
static double all_gains(double t, const double *y, double *g) {
  double T[N + 1], P[N + 1], f = share + growth * (t - begin);
  memcpy(T, y, N * sizeof *T);
  T[N] = outside(t);
  for (int k = 0; k <= N; k++) {
    double square = T[k] * T[k];
    P[k] = SIGMA * square * square;
    g[k] = 0.0;
  }
  gains(configuration, T, P, f, g);
  return f;
}

void rhs(double t, const double *y, double *dy) {
  double g[N + 1], f = all_gains(t, y, g);
  evaluations++;
  g[PART] -= capacity[PART] * growth * (y[PART] - reference);
  for (int k = 0; k < heaters[configuration]; k++) {
    int node = heater[configuration][k].node;
    if (mode[k] == FULL) g[node] += heater[configuration][k].power;
    else if (mode[k] == HOLD) g[node] = 0.0;
  }
  for (int k = 0; k < N; k++) dy[k] = g[k] / (k == PART ? capacity[k] * f : capacity[k]);
}

/* How far heater k is below its setpoint, K: where this is zero, a heater at full power begins to hold. */
double below(int k, const double *y) {
  return heater[configuration][k].setpoint - y[heater[configuration][k].node];
}

/* What each heater does from where its node stands. A heater that would have to give more than it has, or less
 * than nothing, is told by what is returned: the peers are run where that does not happen. */
int settle(double t, double *y) {
  double g[N + 1];
  int good = 1;
  for (int k = 0; k < heaters[configuration]; k++) {
    double short_K = below(k, y);
    if (fabs(short_K) > 1e-3) {
      mode[k] = short_K > 0.0 ? FULL : OFF;
      continue;
    }
    y[heater[configuration][k].node] = heater[configuration][k].setpoint;
    mode[k] = HOLD;
  }
  all_gains(t, y, g);
  for (int k = 0; k < heaters[configuration]; k++) {
    double needed = -g[heater[configuration][k].node] / heater[configuration][k].power;
    if (mode[k] == HOLD && (needed < 0.0 || needed > 1.0)) good = 0;
  }
  return good;
}

static int station;
void ask_station(int k) { station = k; }

/* The filament that stands at the station asked for, K. */
double filament(double t, const double *y) {
  double T[N + 1];
  memcpy(T, y, N * sizeof *T);
  T[N] = outside(t);
  return standing(configuration, station, T);
}

/* Many evaluations on end, to time one. */
void repeat(int times, double *y, double *dy) {
  for (int k = 0; k < times; k++) {
    y[k % N] += 1e-9;
    rhs(begin + k, y, dy);
  }
}
