"""The Rosenbrock method of the march: RODAS, order 4 with an embedded order 3, stiffly accurate, L-stable.

Coefficients in the transformed form (no multiplication with the Jacobian): Hairer E & Wanner G, Solving
Ordinary Differential Equations II, 2nd ed. 1996, section IV.10 (from memory; the measured order is the
check).
"""

from __future__ import annotations

GAMMA = 0.25
STAGES = 6
ALPHA = (0.0, 0.386, 0.21, 0.63, 1.0, 1.0)
"""Where in the step a stage looks at the light."""
GAMMA_TIME = (0.25, -0.1043, 0.1035, -0.03620000000000023, 0.0, 0.0)
"""Weight of the slope in time of a stage."""
A: tuple[tuple[float, ...], ...] = (
    (),
    (1.544,),
    (0.9466785280815826, 0.2557011698983284),
    (3.314825187068521, 2.896124015972201, 0.9986419139977817),
    (1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950),
    (1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950, 1.0),
)
C: tuple[tuple[float, ...], ...] = (
    (),
    (-5.6688,),
    (-2.430093356833875, -0.2063599157091915),
    (-0.1073529058151375, -9.594562251023355, -20.47028614809616),
    (7.496443313967647, -10.24680431464352, -33.99990352819905, 11.70890893206160),
    (8.083246795921522, -7.981132988064893, -31.52159432874371, 16.31930543123136, -6.058818238834054),
)
WEIGHTS = (1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950, 1.0, 1.0)
"""The new state is the old one plus these times the stages; the last stage alone is the error estimate."""
ERROR_STAGE = 5
ORDER = 4


def _weights_of_sums() -> tuple[float, ...]:
    """Give by how much each stage counts for an amount that nothing depends on.

    Such a row's stages are k_i = h gamma (f_i + J K_i + sum C_ij k_j / h), so that its change, the sum of
    WEIGHTS_i k_i, is h times a fixed mixture of the f_i + J K_i.
    """
    solved = [0.0] * STAGES
    for stage in reversed(range(STAGES)):
        later = sum(C[other][stage] * solved[other] for other in range(stage + 1, STAGES))
        solved[stage] = WEIGHTS[stage] + GAMMA * later
    return tuple(GAMMA * value for value in solved)


SUM_WEIGHTS = _weights_of_sums()
SUM_TIME_WEIGHT = sum(w * g for w, g in zip(SUM_WEIGHTS, GAMMA_TIME, strict=True))
"""The same mixture of the slope in time, per step length."""
