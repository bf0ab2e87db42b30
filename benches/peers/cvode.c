/* Runs CVODE over a whole job: dense matrix, differences for its Jacobian, Newton, BDF, all as it does by default.
 * The shared libraries come out of a Python wheel, which has no headers: what is called is declared here. */
#include <stdint.h>
#include <stdlib.h>

typedef struct context *Context;
typedef struct vector *Vector;
typedef struct matrix *Matrix;
typedef struct solver *Solver;
typedef int (*Rates)(double, Vector, Vector, void *);
typedef int (*Roots)(double, Vector, double *, void *);
int SUNContext_Create(int, Context *);
int SUNContext_ClearErrHandlers(Context);
int SUNDIALSGetVersion(char *, int);
Vector N_VMake_Serial(int64_t, double *, Context);
double *N_VGetArrayPointer(Vector);
Matrix SUNDenseMatrix(int64_t, int64_t, Context);
Solver SUNLinSol_Dense(Vector, Matrix, Context);
void *CVodeCreate(int, Context);
int CVodeInit(void *, Rates, double, Vector);
int CVodeReInit(void *, double, Vector);
int CVodeSStolerances(void *, double, double);
int CVodeSetLinearSolver(void *, Solver, Matrix);
int CVodeSetMaxNumSteps(void *, long);
int CVodeSetStopTime(void *, double);
int CVodeRootInit(void *, int, Roots);
int CVodeGetNumSteps(void *, long *);
int CVode(void *, double, Vector, double *, int);
enum { BDF = 2, NORMAL = 1, AT_STOP = 1, AT_ROOT = 2 };

void rhs(double t, const double *y, double *dy);
void stretch(int k, double begin_s, double part_share, double growth_per_s);
int get_mode(int k);
int heater_count(void);
int settle(double t, double *y);
double below(int k, const double *y);
double filament(double t, const double *y);

static int rates(double t, Vector y, Vector dy, void *nothing) {
  (void)nothing;
  rhs(t, N_VGetArrayPointer(y), N_VGetArrayPointer(dy));
  return 0;
}

static int roots(double t, Vector y, double *out, void *nothing) {
  (void)t, (void)nothing;
  for (int k = 0; k < heater_count(); k++) out[k] = get_mode(k) == 2 ? below(k, N_VGetArrayPointer(y)) : 1.0;
  return 0;
}

struct piece { double begin, end, share, growth; int configuration; };

static void *memory;
static Vector vector;
static double *state;

void version(char *text, int length) { SUNDIALSGetVersion(text, length); }

static int make(int n) {
  Context context;
  /* Too loose a tolerance may fail; that is told by what is returned. */
  if (SUNContext_Create(0, &context) || SUNContext_ClearErrHandlers(context)) return 1;
  state = calloc(n, sizeof *state);
  vector = N_VMake_Serial(n, state, context);
  memory = CVodeCreate(BDF, context);
  Matrix matrix = SUNDenseMatrix(n, n, context);
  return CVodeInit(memory, rates, 0.0, vector) || CVodeSStolerances(memory, 1e-10, 1e-3) ||
         CVodeSetLinearSolver(memory, SUNLinSol_Dense(vector, matrix, context), matrix) ||
         CVodeSetMaxNumSteps(memory, 10000000);
}

/* manner 0: kinks of the weather are nothing to it; 1: it stops at each and goes on; 2: it begins anew at each.
 * The filament at each time asked for goes to `out`. Returns 0, or where it failed. */
int cvode(int n, const double *initial, int count, const struct piece *pieces, int kinks, const double *kink, int manner,
          double rtol, double atol, int asked, const double *times, double *out, long *steps) {
  int next = 0, at = 0;
  double t = 0.0;
  if (!memory && make(n)) return 1;
  if (CVodeSStolerances(memory, rtol, atol)) return 2;
  for (int k = 0; k < n; k++) state[k] = initial[k];
  *steps = 0;
  for (int s = 0; s < count; s++) {
    stretch(pieces[s].configuration, pieces[s].begin, pieces[s].share, pieces[s].growth);
    int fresh = 1, root = 0;
    for (t = pieces[s].begin; t < pieces[s].end;) {
      while (at < kinks && kink[at] <= t) at++;
      double stop = manner && at < kinks && kink[at] < pieces[s].end ? kink[at] : pieces[s].end;
      if (fresh || manner == 2) {
        int full = 0;
        long so_far = 0;
        if (!settle(t, state)) return 3;
        for (int k = 0; k < heater_count(); k++) full |= get_mode(k) == 2;
        CVodeGetNumSteps(memory, &so_far);
        *steps += so_far;
        if (CVodeReInit(memory, t, vector) || CVodeRootInit(memory, full ? heater_count() : 0, full ? roots : 0)) return 4;
        fresh = 0;
      }
      if (CVodeSetStopTime(memory, stop)) return 5;
      for (root = 0; t < stop && !root;) {
        double until = next < asked && times[next] < stop ? times[next] : stop;
        /* What is asked for at the very beginning is there already. */
        if (until > t) {
          int said = CVode(memory, until, vector, &t, NORMAL);
          if (said < 0) return 6;
          root = said == AT_ROOT;
          if (said == AT_STOP) t = stop;
        }
        while (next < asked && times[next] <= t) out[next++] = filament(t, state);
      }
      fresh = root;
    }
  }
  long so_far = 0;
  CVodeGetNumSteps(memory, &so_far);
  *steps += so_far;
  return 0;
}
