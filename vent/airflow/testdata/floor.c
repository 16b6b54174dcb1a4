/* Speed floor and second opinion for the operating point: blower against duct.
 *
 * usage: floor CALLS SHUTOFF_PA FREE_AIR_M3S DENSITY VISCOSITY K K_BORE_M {LENGTH_M BORE_M ROUGHNESS_M}...
 * prints: flow by bracketing, ns per call, flow by joint Newton, ns per call
 *
 * "bracket" is the textbook way: bisect the flow, and for every trial flow iterate
 * Colebrook to a fixed point. "newton" solves flow and friction together. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#define MAX 8
static int n;
static double length[MAX], bore[MAX], rough[MAX], k, kbore, density, viscosity, free_air;

static double area(double d) { return M_PI / 4 * d * d; }

static double friction(double re, double rel) {
	if (re <= 2300) return 64 / re;
	double at = re < 4000 ? 4000 : re, x = 6.5;
	for (int i = 0; i < 100; i++) {
		double next = -2 * log10(rel / 3.7 + 2.51 * x / at);
		if (fabs(next - x) <= 1e-12 * x) { x = next; break; }
		x = next;
	}
	double f = 1 / (x * x);
	if (re < 4000) f = 64.0 / 2300 + (f - 64.0 / 2300) * (re - 2300) / 1700;
	return f;
}

static double loss(double q) {
	double v = q / area(kbore), p = k * density * v * v / 2;
	for (int i = 0; i < n; i++) {
		v = q / area(bore[i]);
		double re = density * v * bore[i] / viscosity;
		p += friction(re, rough[i] / bore[i]) * length[i] / bore[i] * density * v * v / 2;
	}
	return p;
}

static double bracket(double shutoff) {
	double low = 0, high = free_air;
	while (high - low > 1e-12 * high) {
		double q = (low + high) / 2, s = q / free_air;
		if (shutoff * (1 - s * s) > loss(q)) low = q; else high = q;
	}
	return (low + high) / 2;
}

static double newton(double shutoff) {
	double a[MAX], s[MAX], r[MAX], x[MAX], fixed[MAX], per[MAX];
	double v = free_air / area(kbore), kk = k * density * v * v / 2, start = kk;
	for (int i = 0; i < n; i++) {
		v = free_air / area(bore[i]);
		a[i] = length[i] / bore[i] * density * v * v / 2;
		s[i] = 2.51 * viscosity / (density * v * bore[i]);
		r[i] = rough[i] / bore[i] / 3.7;
		double root = sqrt(rough[i] / bore[i]);
		x[i] = 7.15 + root * (38 * root - 24); /* the start of the Go solver */
		start += a[i] / (x[i] * x[i]);
	}
	double u = sqrt(1 + start / shutoff);
	for (int step = 0; step < 12; step++) {
		double res = shutoff * (u * u - 1) - kk, slope = 2 * shutoff * u;
		for (int i = 0; i < n; i++) {
			double arg = r[i] + s[i] * u * x[i], h = 2 / M_LN10 * s[i], inv = 1 / (arg + h * u);
			fixed[i] = -(x[i] + 2 / M_LN10 * log(arg)) * arg * inv;
			per[i] = -h * x[i] * inv;
			double f = a[i] / (x[i] * x[i]);
			res += f * (2 * fixed[i] / x[i] - 1);
			slope += 2 * f / x[i] * per[i];
		}
		double du = -res / slope;
		int settled = fabs(du) <= 1e-6 * u;
		u += du;
		for (int i = 0; i < n; i++) {
			double dx = fixed[i] + per[i] * du;
			settled = settled && fabs(dx) <= 1e-6 * x[i];
			x[i] += dx;
		}
		if (settled) break;
	}
	return free_air / u;
}

static double timed(double (*solve)(double), long calls, double shutoff, double *flow) {
	struct timespec a, b;
	volatile double sink = 0;
	clock_gettime(CLOCK_MONOTONIC, &a);
	for (long i = 0; i < calls; i++) sink = solve(shutoff * (1 + 1e-9 * (i & 7))); /* no two calls alike */
	clock_gettime(CLOCK_MONOTONIC, &b);
	(void)sink;
	*flow = solve(shutoff);
	return ((b.tv_sec - a.tv_sec) * 1e9 + (b.tv_nsec - a.tv_nsec)) / calls;
}

int main(int argc, char **argv) {
	if (argc < 11 || (argc - 8) % 3 || (argc - 8) / 3 > MAX) return 2;
	long calls = atol(argv[1]);
	double shutoff = atof(argv[2]);
	free_air = atof(argv[3]), density = atof(argv[4]), viscosity = atof(argv[5]), k = atof(argv[6]), kbore = atof(argv[7]);
	for (int i = 8; i < argc; i += 3, n++)
		length[n] = atof(argv[i]), bore[n] = atof(argv[i + 1]), rough[n] = atof(argv[i + 2]);
	double fb, fn, tb = timed(bracket, calls / 20 + 1, shutoff, &fb), tn = timed(newton, calls, shutoff, &fn);
	printf("%.15g %.3f %.15g %.3f\n", fb, tb, isnan(fn) ? 0 : fn, tn); /* newton is for turbulent flow */
	return 0;
}
