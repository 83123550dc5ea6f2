"""Photos of splices drawn from physics, apart from the estimator: shapes, light, camera, file."""
